"""Is a list of implant poses read as it is written, and a wrong line named?"""

import pytest

from casework.measure.sets.stated_poses import LONGEST_BYTES, PosesRefused, read_stated_poses


def test_a_list_is_read_with_and_without_the_reference_side():
    content = "\ufeff# in mm\n\n45; 12.31;-4.22;1.05; 0.02;0.01;0.999; 1;0;0\n47,1,2,3,0,0,1"

    poses = read_stated_poses(content.encode())

    assert poses == {
        "45": {
            "origin_mm": [12.31, -4.22, 1.05], "axis": [0.02, 0.01, 0.999], "toward": [1, 0, 0],
        },
        "47": {"origin_mm": [1, 2, 3], "axis": [0, 0, 1], "toward": None},
    }  # fmt: skip


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "names no implant"),
        (b"# nothing", "names no implant"),
        (b"45 1 2 3 0 0 1\n45 1 2 3 0 0 1", "line 2 the site 45 stands a second time"),
        (b"19 1 2 3 0 0 1", "line 1 .19. is no site"),
        (b"45 1 2 3", "line 1 3 numbers stand behind the site"),
        (b"45 1 2 3 0 0 one", "line 1 something is no number"),
        (b"45 1 2 nan 0 0 1", "line 1 a number is not finite"),
        (b"45 1 2 3 0 0 0", "line 1 the axis has no length"),
        (b"45 1 2 3 0 0 1 0 0 2", "does not point away from the axis"),
        (b"\xff\xfe\x00", "not text in UTF-8"),
        (b"4" * (LONGEST_BYTES + 1), "too long"),
    ],
)
def test_what_is_wrong_is_said_with_its_line(content, says):
    with pytest.raises(PosesRefused, match=says):
        read_stated_poses(content)
