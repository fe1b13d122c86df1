"""What is proposed for a file's name, and how is it called outside?"""

import pytest

from casework.evidence import rules
from casework.evidence.rules import Proposal, handed_name, objections_to_role, propose

LOWER = ("45", "47")


@pytest.mark.parametrize(
    ("name", "file_format", "expected"),
    [
        ("case7_lower_scanbody.stl", "STL", ("working_arch_scan_bodies", "lower", ())),
        ("LowerJaw-ScanBodies 45.stl", "STL", ("working_arch_scan_bodies", "lower", ("45",))),
        ("mandible.ply", "PLY", ("working_arch", "lower", ())),
        ("Maxilla.ply", "PLY", ("opposing_arch", "upper", ())),
        ("opposing.stl", "STL", ("opposing_arch", "upper", ())),
        ("bite left.stl", "STL", ("bite_scan", "", ())),
        ("second scan lower.stl", "STL", ("second_scan", "lower", ())),
        ("emergence 47.obj", "OBJ", ("working_arch", "lower", ("47",))),
        ("margin45.stl", "STL", ("margins", "lower", ("45",))),
        ("crown_45_design.stl", "STL", ("design_part", "", ("45",))),
        ("scan_20260345.stl", "STL", ("", "", ())),
        ("export.stl", "STL", ("", "", ())),
        ("shade tab A.jpg", "JPEG", ("shade_photograph", "", ())),
        ("DSC0047.jpg", "JPEG", ("photograph", "", ())),
        ("periapical 45.png", "PNG", ("radiograph", "", ("45",))),
        ("x.dcm", "DICOM", ("radiograph", "", ())),
        ("letter.pdf", "PDF", ("report", "", ())),
        ("implant poses.txt", "text", ("stated_poses", "", ())),
        ("notes.txt", "text", ("report", "", ())),
    ],
)
def test_what_a_name_suggests(name, file_format, expected):
    assert propose(name, file_format, sites=LOWER) == Proposal(*expected)


def test_a_number_that_is_no_site_of_the_order_is_not_proposed():
    assert propose("lower 19.stl", "STL", sites=LOWER).sites == ()
    assert propose("lower 45.stl", "STL", sites=()).sites == ()


def test_names_outside_are_code_site_role():
    assert handed_name("K7Q-ABCD", ("45", "47"), "margins", "lower", 3, "STL") == (
        "K7Q-ABCD-45_47-margins-3.stl"
    )
    assert handed_name("K7Q-ABCD", (), "opposing_arch", "upper", 4, "PLY") == (
        "K7Q-ABCD-upper-opposing_arch-4.ply"
    )
    assert handed_name("K7Q-ABCD", (), "bite_scan", "", 5, "OBJ") == (
        "K7Q-ABCD-case-bite_scan-5.obj"
    )


# Written by hand from the agreed list of roles.
AGREED = {
    "working_arch_scan_bodies": "mesh",
    "working_arch": "mesh",
    "opposing_arch": "mesh",
    "bite_scan": "mesh",
    "second_scan": "mesh",
    "margins": "mesh",
    "provisional": "mesh",
    "design_part": "mesh",
    "check_scan": "mesh",
    "radiograph": "picture or DICOM",
    "photograph": "picture",
    "shade_photograph": "picture",
    "report": "document",
    "stated_poses": "text",
}
FORMATS = {
    "mesh": {"STL", "PLY", "OBJ"},
    "text": {"text"},
    "picture": {"JPEG", "PNG", "TIFF"},
    "picture or DICOM": {"JPEG", "PNG", "TIFF", "DICOM"},
    "document": {"PDF", "text", "JPEG", "PNG", "TIFF"},
}


def test_the_roles_are_the_agreed_ones():
    assert {slug: set(role.formats) for slug, role in rules.ROLES.items()} == {
        slug: FORMATS[kind] for slug, kind in AGREED.items()
    }
    assert [role.slug for role in rules.ROLES.values() if not role.leaves] == [
        "report",
        "stated_poses",
    ]
    assert all(len(slug) <= 30 for slug in rules.ROLES)


def test_a_milling_centre_sees_the_parts_it_makes_and_nothing_else():
    seen = [r for r in ("", *AGREED) if rules.may_see(r, {"parts"}, is_milling=True)]

    assert seen == ["design_part"]
    assert not [r for r in ("", *AGREED) if rules.may_see(r, {"parts", "visits"})]


def test_whoever_sees_scans_alone_sees_no_face():
    seen = {r for r in AGREED if rules.may_see(r, {"scans"})}

    assert not seen & {"photograph", "shade_photograph", "report", "design_part"}
    assert {"working_arch", "radiograph"} <= seen


@pytest.mark.parametrize("role", AGREED)
def test_a_role_refuses_the_formats_of_another(role):
    for file_format in rules.FORMATS:
        found = objections_to_role(role, file_format, "upper", ("45",))
        assert bool(found) == (file_format not in FORMATS[AGREED[role]])


@pytest.mark.parametrize(
    ("role", "extents", "is_asked"),
    [
        ("working_arch", (60, 45, 15), False),
        ("working_arch", (14.9, 5, 5), True),
        ("working_arch", (90, 60, 20), False),
        ("working_arch", (90.1, 60, 20), True),
        ("design_part", (8, 9, 10), False),
        ("design_part", (0.39, 0.3, 0.3), True),
        ("", (60, 45, 15), False),
    ],
)
def test_when_the_unit_is_asked_for(role, extents, is_asked):
    assert bool(rules.unit_question(role, extents)) is is_asked


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("C:\\scans\\upper.stl", "upper.stl"),
        ("a\r\nb.stl", "ab.stl"),
        ("Bru\u0308cke.stl", "Br\u00fccke.stl"),
        ("", "file without a name"),
        ("x" * 300 + ".stl", "x" * 196 + ".stl"),
    ],
)
def test_how_a_name_is_kept(name, kept):
    assert rules.clean_name(name) == kept
