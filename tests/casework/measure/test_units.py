"""Which unit is suggested for a scan that is too small or too large?"""

import pytest

from casework.measure.units import unit_suggestions


@pytest.mark.parametrize(
    ("largest", "kind", "units"),
    [
        (0.060, "full arch", ["metre"]),
        (60 / 25.4, "full arch", ["inch"]),
        (6.0, "full arch", ["centimetre"]),
        (60000.0, "full arch", ["micrometre"]),
        (1.2, "segment", ["inch"]),
        (1.6, "segment", ["inch", "centimetre"]),
        (0.03, "segment", ["metre"]),
        (10.0, "full arch", []),
    ],
)
def test_a11_a43_the_fitting_factor_is_named(largest, kind, units):
    guess = unit_suggestions((largest, largest / 2, 0), kind)

    assert not guess.is_credible
    assert [one.unit for one in guess.suggestions] == units
    assert "unit" in guess.sentence() and all(unit in guess.sentence() for unit in units)
    for one in guess.suggestions:
        low, high = guess.range_mm
        assert low <= one.largest_extent_mm <= high
        assert one.largest_extent_mm == pytest.approx(largest * one.factor)


@pytest.mark.parametrize(
    ("largest", "kind"),
    [(45, "full arch"), (60, "full arch"), (90, "full arch"), (15, "segment")],
)
def test_a_credible_size_needs_no_question(largest, kind):
    guess = unit_suggestions(largest, kind)
    assert guess.is_credible and guess.suggestions == ()


def test_an_unknown_kind_is_named():
    with pytest.raises(ValueError, match="full arch, segment, not 'tooth'"):
        unit_suggestions(60, "tooth")
