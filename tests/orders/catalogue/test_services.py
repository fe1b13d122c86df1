"""Does a party write its own rows of the catalogue, and only those?"""

from datetime import date
from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied

from orders.catalogue import queries, services
from orders.catalogue.models import Component, Material
from orders.refusals import Refused

BASE = {
    "kind": "base",
    "part_number": "B-1",
    "name": "Base",
    "connection": "cone 4",
    "source": "instructions for use",
}


def test_party_sees_shared_rows_and_its_own(technician, practice, laboratory):
    shared = Component.objects.create(owner=None, **BASE)
    own = services.save_component(by=technician, **BASE | {"name": "Base, own figures"})

    assert set(queries.components_for(laboratory, kind="base")) == {shared, own}
    assert set(queries.components_for(practice)) == {shared}


def test_calliper_readings_carry_day_and_exact_figures(technician):
    row = services.save_component(
        by=technician,
        **BASE | {"source": "calliper", "measured_on": date(2026, 3, 1)},
        dimensions={"height_mm": Decimal("4.50"), "diameter_mm": None},
    )

    row.refresh_from_db()
    assert row.dimensions == {"height_mm": "4.50"}
    assert row.measured_on == date(2026, 3, 1)


@pytest.mark.parametrize(
    "change, word",
    [
        ({"source": "calliper"}, "Name the day"),
        ({"measured_on": date(2026, 3, 1)}, "Choose 'calliper'"),
        ({"kind": "hammer"}, "Choose one of"),
        ({"connection": ""}, "Name the connection"),
        ({"source": ""}, "where the figures come from"),
        ({"dimensions": {"head_diameter_mm": "2"}}, "no head diameter"),
    ],
)
def test_row_against_itself_is_refused(technician, change, word):
    with pytest.raises(Refused, match=word):
        services.save_component(by=technician, **BASE | change)

    assert not Component.objects.exists()


def test_shared_and_foreign_rows_cannot_be_changed(technician, practice):
    shared = Component.objects.create(owner=None, **BASE)
    theirs = Component.objects.create(owner=practice, **BASE | {"part_number": "B-2"})

    for row in (shared, theirs):
        with pytest.raises(Refused, match="cannot be changed"):
            services.save_component(by=technician, component=row, name="Mine")

    assert set(Component.objects.values_list("name", flat=True)) == {"Base"}


def test_number_is_one_per_kind_and_party(technician):
    services.save_component(by=technician, **BASE)

    with pytest.raises(Refused, match="already"):
        services.save_component(by=technician, **BASE)


def test_front_desk_and_assistant_add_nothing(front_desk, assistant):
    for member in (front_desk, assistant):
        with pytest.raises(PermissionDenied):
            services.save_component(by=member, **BASE)


# Classes 1-5 of ISO 6872, types 0-5 of ISO 22674 (from memory).
@pytest.mark.parametrize(
    "family, chosen, stands",
    [
        ("zirconia", 5, True),
        ("zirconia", 0, False),
        ("metal", 0, True),
        ("metal", 6, False),
        ("polymer", None, True),
        ("polymer", 3, False),
        ("wood", None, False),
    ],
)
def test_class_of_a_material_must_exist(technician, family, chosen, stands):
    told = {"name": "M", "family": family, "strength_class": chosen, "source": "certificate"}
    if stands:
        services.save_material(by=technician, limits={"occlusal_min_mm": "0.8"}, **told)
    else:
        with pytest.raises(Refused):
            services.save_material(by=technician, **told)

    assert Material.objects.exists() is stands


def test_class_is_not_higher_than_the_strength_reaches(technician):
    """ISO 6872:2015 Table 1 (from memory): class 5 from 800 MPa, class 4 from 500 MPa."""
    told = {"name": "Disc", "family": "zirconia", "source": "certificate"}

    services.save_material(by=technician, strength_class=4, flexural_strength_mpa=650, **told)
    with pytest.raises(Refused, match="650 MPa reach class 4 of ISO 6872, not class 5"):
        services.save_material(
            by=technician, strength_class=5, flexural_strength_mpa=650, **told
        )
