"""Does the catalogue say what is invented, and let a party write its own rows?"""

import pytest
from django.urls import reverse

from orders.catalogue.models import Component, Material, System
from orders.shades.models import ShadeGuide


@pytest.fixture
def part(db):
    system = System.objects.create(name="Invented A", is_invented=True)
    return Component.objects.create(
        kind="implant",
        system=system,
        part_number="IA-1",
        name="Implant",
        connection="cone 4",
        platform="regular",
        dimensions={"body_diameter_mm": "4.3", "platform_diameter_mm": "4.1"},
        source="invented",
    )


def test_catalogue_says_what_is_invented_and_who_measured(sign_in, technician, part):
    browser = sign_in(technician)
    browser.post(
        reverse("component_add"),
        {
            "kind": "base",
            "part_number": "B-1",
            "name": "Base",
            "connection": "cone 4",
            "source": "calliper",
            "measured_on": "2026-03-01",
            "height_mm": "4,5",
        },
    )

    page = browser.get(reverse("catalogue")).text

    assert "shared, invented" in page
    assert "measured by Bench Four Laboratory on 1 March 2026" in page
    assert "height 4.5 mm" in page


def test_shared_row_has_no_form_and_own_rows_have(sign_in, technician, laboratory, part):
    own = Material.objects.create(
        owner=laboratory, name="Own block", family="zirconia", source="certificate"
    )
    browser = sign_in(technician)

    assert browser.get(reverse("component", args=[part.pk])).status_code == 403
    assert browser.get(reverse("material", args=[own.pk])).status_code == 200
    browser.post(
        reverse("material", args=[own.pk]),
        {"name": "Own block", "family": "zirconia", "strength_class": "9", "source": "c"},
    )
    own.refresh_from_db()
    assert own.strength_class is None


def test_guide_is_entered_by_its_tabs(sign_in, assistant, practice):
    sign_in(assistant).post(reverse("guide_add"), {"name": "Guide", "tabs": "L1, L2\nL3"})

    assert ShadeGuide.objects.get(owner=practice).tabs == ["L1", "L2", "L3"]
