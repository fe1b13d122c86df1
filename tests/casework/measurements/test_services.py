"""Is a computed value kept once, and in a form that can be stored and hashed?"""

from decimal import Decimal

from casework.measurements.models import Measurement
from casework.measurements.queries import as_facts, input_digest
from casework.measurements.services import keep_measurement


def keep(case, values, **more):
    says = {"method": "integrity", "version": "1", "input_digest": "a" * 64} | more
    return keep_measurement(case, evidence=None, values=values, **says)


def test_one_input_and_method_has_one_value(case):
    first, again = keep(case, {"x": 1.5}), keep(case, {"x": 2.5})

    assert (again.pk, again.values) == (first.pk, {"x": 1.5})
    keep(case, {"x": 2.5}, version="2")
    keep(case, {"x": 2.5}, input_digest="b" * 64)
    assert Measurement.objects.count() == 3


def test_a_number_that_is_none_is_not_known(case):
    row = keep(case, {"a": float("nan"), "b": [float("inf"), (1.0, 2)]})

    assert row.values == {"a": None, "b": [None, [1.0, 2]]}


def test_the_unit_is_part_of_the_input():
    digests = {input_digest("a" * 64, factor) for factor in ("1", "25.4")}
    digests |= {input_digest("b" * 64, "1")}

    assert len(digests) == 3


def test_facts_hold_no_float():
    assert as_facts({"a": [0.1, {"b": 2.5}], "c": None, "d": True}) == {
        "a": [Decimal("0.1"), {"b": Decimal("2.5")}],
        "c": None,
        "d": True,
    }
