"""Is it found where nothing says that an implant healed, and left alone where it still heals?

Bands of the quotient: below 60 low (web page on the stability scale); 65 wanted for loading
early and insertion torque 35 N·cm (consensus statements on loading, 2013); two months: Weber
HP et al. 2009; torque test 35 N·cm: J Oral Implantol 2015;41(4):e133.
"""

from datetime import date, timedelta

import pytest

from casework.stages import guarded_by
from tests.casework.checks.good import TODAY, codes, findings, good, implant, reading

NAME = "healing_recorded"


def one(*readings, placed=140):
    """One implant at 45 placed so many days ago, with these readings."""
    facts = good(implants=[implant("45", placed_on=TODAY - timedelta(days=placed))])
    facts["order"] |= {"sites": ["45"]}
    return facts | {"readings": list(readings)}


def test_guards():
    assert guarded_by(NAME) == {"ready_to_scan"}


@pytest.mark.parametrize(("value", "low"), [("60", False), ("59", True), ("100", False)])
def test_quotient_below_the_band_asks(value, low):
    expected = ["ask quotient_low 45"] if low else []

    assert codes(NAME, one(reading("45", value=value))) == expected


def test_the_last_reading_of_a_direction_counts():
    facts = one(
        reading("45", value="72", measured_on=date(2026, 5, 20)),
        reading("45", value="50", measured_on=date(2026, 3, 20)),
    )

    assert codes(NAME, facts) == []


def test_every_direction_is_judged():
    facts = one(reading("45", value="72"), reading("45", value="55", direction="mesial"))

    (found,) = findings(NAME, facts)
    assert (found.code, found.values["direction"]) == ("quotient_low", "mesial")
    assert (found.measured, found.limit) == ("55 ISQ", "60 ISQ")
    assert "stability scale" in found.source


def test_falling_trend_is_noted():
    facts = one(
        reading("45", value="74", measured_on=date(2026, 4, 20)), reading("45", value="70")
    )

    assert codes(NAME, facts) == ["note falling 45"]


def test_rising_trend_is_not():
    facts = one(
        reading("45", value="68", measured_on=date(2026, 4, 20)), reading("45", value="68")
    )

    assert codes(NAME, facts) == []


def test_no_reading_asks_once_healed():
    assert codes(NAME, one(placed=60)) == ["ask no_reading 45"]


def test_no_reading_is_required_of_a_healing_implant():
    (found,) = findings(NAME, one(placed=59))

    assert (found.weight, found.code) == ("ask", "healing")
    assert (found.measured, found.limit) == ("59 days", "60 days")


def test_loading_early_wants_a_higher_quotient():
    assert codes(NAME, one(reading("45", value="64"), placed=40)) == [
        "ask healing 45",
        "ask quotient_low 45",
    ]


def test_insertion_torque_counts_only_while_healing():
    weak = reading("45", "insertion_torque_ncm", "34", direction="")

    assert "ask insertion_low 45" in codes(NAME, one(weak, placed=40))
    assert codes(NAME, one(weak, reading("45"))) == []


@pytest.mark.parametrize(
    ("value", "held", "expected"),
    [
        ("35", True, []),
        ("34", True, ["note light_test 45"]),
        ("35", False, ["ask turned 45"]),
    ],
)
def test_torque_test_stands_for_a_reading(value, held, expected):
    test = reading("45", "torque_test_ncm", value, direction="forward", held=held)

    assert codes(NAME, one(test)) == expected


def test_mobile_implant_asks():
    moving = reading("45", "mobility", None, held=True, direction="")

    assert codes(NAME, one(reading("45"), moving)) == ["ask mobile 45"]


def test_reading_before_the_implant_stops():
    early = reading("45", measured_on=TODAY - timedelta(days=141))

    assert codes(NAME, one(early)) == ["stop before_implant 45"]


def test_unknown_day_never_counts_as_healed():
    facts = one(reading("45"))
    facts["implants"] = [implant("45", placed_on=None)]

    assert codes(NAME, facts) == ["ask healing_not_known 45"]
