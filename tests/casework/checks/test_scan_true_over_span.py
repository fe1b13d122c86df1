"""Is it said how far a scan can be from the mouth, however well it fits itself?

10 µm over two implants, 104 over four, up to 87 over six: Anitua E et al. 2025 and a study of
2024, abstracts read. 100 µm of misfit: common practice, no source.
"""

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import findings, said_of
from tests.casework.checks.measures import file, measured, value

NAME = "scan_true_over_span"
COUNTED = value("scan_bodies_found", "file 1", 2, "", doubtful=[])
ARCH = [f"4{k}" for k in range(6, 0, -1)] + [f"3{k}" for k in range(1, 7)]


def test_guards():
    assert guarded_by(NAME) == {"send_order"}


def bridge(*implants):
    return {"files": [file("bridge.stl", "bridge", ARCH)], "sites": list(implants)}


@pytest.mark.parametrize(
    ("implants", "expected"),
    [
        (("46",), []),
        (("46", "44"), ["note expected 46-44"]),
        (("46", "44", "42"), ["ask beyond_fit 46-42"]),
        (("46", "43", "33", "36"), ["ask beyond_fit 46-36"]),
        (("46", "44", "42", "32", "34", "36"), ["ask beyond_fit 46-36"]),
    ],
)
def test_implants_under_one_bridge(implants, expected):
    assert said_of(NAME, COUNTED, **bridge(*implants)) == expected


def test_figures_and_sources_stand_beside_the_finding():
    (found,) = findings(NAME, {"measured": measured(COUNTED, **bridge("46", "43", "33", "36"))})

    assert (found.measured, found.limit) == ("104 µm", "100 µm")
    assert "Anitua" in found.values["seen"]
    assert found.source.startswith("common practice, no source")


def test_before_a_design_units_in_a_row_are_one_piece():
    def unit(tooth, kind="retainer"):
        return {"tooth": tooth, "kind": kind, "stands_on": "implant"}

    told = {"files": [], "sites": ["46", "44", "34", "36", "11"]}
    two = [unit(tooth) for tooth in ("46", "44", "36", "34")] + [unit("11", "crown")]
    bridges = [*two, unit("45", "pontic"), unit("35", "pontic")]

    assert said_of(NAME, COUNTED, units=two, **told) == []
    assert said_of(NAME, COUNTED, units=bridges, **told) == [
        "note expected 46-44", "note expected 34-36",
    ]  # fmt: skip


def test_without_scan_bodies_in_a_scan_nothing_is_said():
    assert said_of(NAME, **bridge("46", "43", "33", "36")) == []
