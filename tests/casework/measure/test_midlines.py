"""Is the middle of an arch found where its two sides mirror each other?"""

import numpy as np
import pytest

from casework.demo.meshes import lower_arch, upper_arch
from casework.measure.midlines import midline
from tests.shapes import rotation

# The invented arches have the patient's right at +x and the front at +y.
UP = np.array([0, 0, 1.0])


@pytest.mark.parametrize(("make", "is_lower"), [(lower_arch, True), (upper_arch, False)])
def test_the_midline_of_a_whole_arch_is_found_in_any_place(make, is_lower):
    scan = make(5, missing=(), triangles=20_000)
    turn, shift = rotation(3), np.array([30.0, -50, 8])
    occlusal = turn @ (UP if is_lower else -UP)

    found = midline(scan.vertices @ turn.T + shift, scan.faces, occlusal, is_lower)

    front = turn @ np.array([0, 23.0, 8]) + shift
    # The invented teeth of both sides do not stand exactly alike.
    assert abs(found.offset_mm(front)) < 0.6
    assert found.rightward @ turn @ [1.0, 0, 0] > 0.999
    assert found.offset_mm(front + turn @ [2.0, 0, 0]) > 1.2


def test_one_side_alone_has_no_midline():
    scan = lower_arch(5, missing=(), span=("43", "47"), triangles=10_000)

    assert midline(scan.vertices, scan.faces, UP, True) is None
    assert midline(np.empty((0, 3)), np.empty((0, 3), int), UP, True) is None


def test_an_arch_with_a_gap_is_not_guessed():
    scan = lower_arch(4, missing=("45", "46", "47"), triangles=20_000)

    found = midline(scan.vertices, scan.faces, UP, True)

    assert found is None or abs(found.offset_mm([0, 22.0, 8])) < 0.5
