"""Are implants and teeth recorded, and what is typed wrongly said beside its field?"""

import pytest
from django.urls import reverse

from casework.cases.models import CaseParty
from orders.catalogue.models import Component, System
from orders.implants.models import Dentition, Implant


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


def url(name, case, *more):
    return reverse(name, args=[case.code, *more])


def test_implant_is_added_with_what_the_catalogue_knows(sign_in, dentist, case, part):
    browser = sign_in(dentist)
    page = browser.get(url("case_implant_add", case))
    assert "ISO 3950" in page.text

    answer = browser.post(
        url("case_implant_add", case),
        {"site": "45", "component": part.pk, "lot": "A-12/B", "placed_on": "2026-01-12"},
        follow=True,
    )

    assert answer.status_code == 200
    implant = Implant.objects.get()
    assert (implant.site, implant.system, str(implant.body_diameter_mm)) == (
        "45",
        "Invented A",
        "4.30",
    )
    assert "Invented A" in answer.text
    assert "length" in answer.text.lower()


@pytest.mark.parametrize(
    "change, word",
    [
        ({"site": "99"}, "no tooth"),
        ({"lot": "A 12"}, "blank"),
        ({"placed_on": "12/01/2026"}, "two dates"),
        ({"length_mm": "1.234,5"}, "thousands"),
        ({"identifier": "9.52123E+12"}, "spreadsheet"),
        ({"placed_on": "2999-01-01"}, "future"),
    ],
)
def test_typing_error_is_said_and_nothing_saved(sign_in, dentist, case, change, word):
    told = {"site": "45", "system": "typed"} | change

    answer = sign_in(dentist).post(url("case_implant_add", case), told)

    assert answer.status_code == 422
    assert word in answer.text
    assert not Implant.objects.exists()


def test_c14_universal_party_types_its_own_numbers(sign_in, dentist, practice, case):
    practice.notation = "universal"
    practice.save()

    page = sign_in(dentist).post(
        url("case_implant_add", case), {"site": "29", "system": "typed"}, follow=True
    )

    assert Implant.objects.get().site == "45"
    assert "universal" in page.text


def test_c15_similar_lot_is_warned_of(sign_in, dentist, case):
    browser = sign_in(dentist)
    browser.post(url("case_implant_add", case), {"site": "45", "system": "t", "lot": "S0123"})

    page = browser.post(
        url("case_implant_add", case),
        {"site": "47", "system": "t", "lot": "SO123"},
        follow=True,
    )

    assert "S0123" in page.text and "similar" in page.text
    assert set(Implant.objects.values_list("lot", flat=True)) == {"S0123", "SO123"}


def test_d18_stale_page_is_refused_then_saved_with_open_eyes(sign_in, dentist, case):
    browser = sign_in(dentist)
    browser.post(url("case_implant_add", case), {"site": "45", "system": "t", "lot": "L1"})
    implant = Implant.objects.get()
    told = {"site": "45", "system": "t", "seen_revision": "1"}
    browser.post(url("case_implant", case, implant.pk), told | {"lot": "FIRST"})

    stale = browser.post(url("case_implant", case, implant.pk), told | {"lot": "SECOND"})

    assert stale.status_code == 409
    assert "FIRST" in stale.text and "SECOND" in stale.text
    assert 'name="seen_revision" value="2"' in stale.text
    implant.refresh_from_db()
    assert implant.lot == "FIRST"


def test_technician_reads_implants_but_has_no_form(sign_in, technician, case, part):
    CaseParty.objects.filter(case=case, side="laboratory").update(seen_from=case.stage_since)
    browser = sign_in(technician)

    assert browser.get(url("case_implants", case)).status_code == 200
    assert browser.get(url("case_implant_add", case)).status_code == 403
    assert browser.post(url("case_implant_add", case), {"site": "45"}).status_code == 403
    assert not Implant.objects.exists()


def test_implant_of_another_case_is_not_here(sign_in, dentist, case):
    browser = sign_in(dentist)

    assert browser.get(url("case_implant", case, 4711)).status_code == 404


def test_implant_entered_by_mistake_is_taken_out_with_its_reason(sign_in, dentist, case):
    browser = sign_in(dentist)
    browser.post(url("case_implant_add", case), {"site": "45", "system": "t"})
    pk = Implant.objects.get().pk

    assert browser.post(url("case_implant_remove", case, pk), {}).status_code == 422
    browser.post(url("case_implant_remove", case, pk), {"reason": "wrong site"})

    assert not Implant.objects.exists()


@pytest.mark.parametrize(
    "told, present",
    [
        ({"typed_as": "present", "teeth": "17-15, 44"}, ["17", "16", "15", "44"]),
        (
            {"typed_as": "missing", "teeth": "45-47, 11-27, 12-17", "without_wisdom": "on"},
            ["44", "43", "42", "41", "31", "32", "33", "34", "35", "36", "37"],
        ),
    ],
)
def test_teeth_are_typed_as_ranges(sign_in, assistant, case, told, present):
    answer = sign_in(assistant).post(
        url("case_teeth_edit", case), told | {"checked_on": "2026-01-12"}
    )

    assert answer.status_code == 302
    assert Dentition.objects.get().present == present


def test_c17_range_across_the_jaws_is_refused(sign_in, assistant, case):
    answer = sign_in(assistant).post(
        url("case_teeth_edit", case),
        {"typed_as": "present", "teeth": "18-48", "checked_on": "2026-01-12"},
    )

    assert answer.status_code == 422
    assert "jaw" in answer.text


def test_another_component_brings_its_own_figures(sign_in, dentist, case, part):
    other = Component.objects.create(
        kind="implant",
        part_number="IA-2",
        name="Wide implant",
        connection="cone 5",
        dimensions={"body_diameter_mm": "5"},
        source="invented",
    )
    browser = sign_in(dentist)
    browser.post(url("case_implant_add", case), {"site": "45", "component": part.pk})
    implant = Implant.objects.get()
    shown = browser.get(url("case_implant", case, implant.pk)).context["form"]
    told = {field.html_name: field.value() or "" for field in shown}

    browser.post(url("case_implant", case, implant.pk), told | {"component": other.pk})

    implant.refresh_from_db()
    assert (implant.connection, str(implant.body_diameter_mm)) == ("cone 5", "5.00")
    assert implant.platform_diameter_mm is None
