"""Does the page of a prescription say what is missing, and keep what was typed?"""

from datetime import date

import pytest
from django.urls import reverse

from casework.cases.models import CaseParty
from orders.implants.models import Dentition, Implant
from orders.prescriptions.models import Prescription
from tests.factories import make_case

BRIDGE = {
    "row_count": "1",
    "row0-teeth": "45-47",
    "row0-made_as": "joined",
    "row0-pontics": "46",
    "material_family": "zirconia",
    "retention": "screw",
    "contacts": "usual",
    "occlusal_scheme": "guided by the canine",
    "grinding": "none",
    "pontic_form": "ovate",
    "emergence": "concave",
    "surface": "glazed",
    "no_allergies": "on",
    "wanted_on": "2999-01-04",
    "try_in_wanted": "on",
    "fee": "estimate agreed",
    "seen_revision": "1",
}
SITE = {
    "level": "implant",
    "engaging": "no",
    "build": "abutment and restoration",
    "abutment_material": "titanium",
    "base_material": "titanium",
}


def sites(*codes):
    return {f"site{code}-{name}": value for code in codes for name, value in SITE.items()}


def url(name, case, *more):
    return reverse(name, args=[case.code, *more])


def test_prescription_says_what_is_missing_before_and_after_saving(sign_in, dentist, case):
    patient = case.order.patient
    for site in ("45", "47"):
        Implant.objects.create(patient=patient, site=site, revision=1)
    Dentition.objects.create(
        patient=patient, present=["44"], checked_on=date(2026, 1, 1), revision=1
    )
    browser = sign_in(dentist)
    empty = browser.get(url("case_prescription_edit", case))
    assert "orders no units" in empty.text

    look = browser.post(url("case_prescription_look", case), BRIDGE | sites("45", "47"))
    assert "Nothing is missing" in look.text
    assert Prescription.objects.get().units == []

    browser.post(url("case_prescription_edit", case), BRIDGE | sites("45", "47"))
    saved = Prescription.objects.get()
    assert saved.strength_class == 4
    assert saved.allergies == "none known"
    assert saved.sites["47"]["engaging"] is False
    assert [unit["kind"] for unit in saved.units] == ["retainer", "pontic", "retainer"]
    assert "Nothing is missing" in browser.get(url("case_prescription_edit", case)).text
    assert "Nothing is missing" in browser.get(url("case_prescription", case)).text


def test_one_choice_serves_every_site_that_has_none(sign_in, dentist, case):
    told = BRIDGE | sites("45") | {"same_everywhere": "on"}
    patient = case.order.patient
    for site in ("45", "47"):
        Implant.objects.create(patient=patient, site=site, revision=1)

    sign_in(dentist).post(url("case_prescription_edit", case), told)

    saved = Prescription.objects.get()
    assert saved.sites["47"] == saved.sites["45"]
    assert saved.sites["47"]["build"] == "abutment and restoration"


def test_look_says_where_something_typed_cannot_be_read(sign_in, dentist, case):
    look = sign_in(dentist).post(
        url("case_prescription_look", case), BRIDGE | {"row0-teeth": "18-48"}
    )

    assert "cannot be read" in look.text
    assert "orders no units" in look.text


def test_what_the_practice_chose_last_is_proposed(sign_in, dentist, case, laboratory):
    last = Prescription.objects.get()
    last.surface, last.state, last.signed_by = "polished", "signed", dentist
    last.signed_at = case.stage_since
    last.save()
    other = make_case(dentist, laboratory=laboratory)

    page = sign_in(dentist).get(url("case_prescription_edit", other))

    assert '<option value="polished" selected>' in page.text


def test_single_crown_is_proposed_on_a_single_implant_only(sign_in, dentist, case, laboratory):
    browser, other = sign_in(dentist), make_case(dentist, laboratory=laboratory)
    Implant.objects.create(patient=case.order.patient, site="36", revision=1)
    for site in ("45", "47"):
        Implant.objects.create(patient=other.order.patient, site=site, revision=1)

    one, two = (browser.get(url("case_prescription_edit", row)).text for row in (case, other))

    assert 'name="row0-teeth" value="36"' in one
    assert 'value="single" selected' in one.split("row1-")[0]
    assert 'name="row0-teeth" value' not in two


def test_what_was_saved_empty_is_not_proposed_again(sign_in, dentist, case):
    browser = sign_in(dentist)
    Implant.objects.create(patient=case.order.patient, site="36", revision=1)

    browser.post(url("case_prescription_edit", case), {"note": "later", "seen_revision": "1"})

    page = browser.get(url("case_prescription_edit", case)).text
    assert 'name="row0-teeth" value' not in page


def test_d18_prescription_of_a_stale_tab_is_refused(sign_in, dentist, case):
    browser = sign_in(dentist)
    browser.post(url("case_prescription_edit", case), {"note": "kept", "seen_revision": "1"})

    stale = browser.post(
        url("case_prescription_edit", case), {"surface": "glazed", "seen_revision": "1"}
    )

    assert stale.status_code == 409
    assert "kept" in stale.text
    assert 'value="2"' in stale.text
    assert Prescription.objects.get().note == "kept"
    assert Prescription.objects.get().surface == ""


@pytest.mark.parametrize(
    "change, word",
    [
        ({"row0-teeth": "18-48"}, "jaw"),
        ({"row0-pontics": "36"}, "not among the units"),
        ({"row0-made_as": "single"}, "no pontics"),
        ({"wanted_on": "03/04/2026"}, "two dates"),
        ({"allergies": "nickel"}, "Either no allergy"),
        ({"margin_depth_mm": "1,250"}, "1.25"),
    ],
)
def test_prescription_typed_wrongly_is_said_beside_its_field(
    sign_in, dentist, case, change, word
):
    answer = sign_in(dentist).post(url("case_prescription_edit", case), BRIDGE | change)

    assert answer.status_code == 422
    assert word in answer.text
    assert Prescription.objects.get().revision == 1


def test_patients_name_in_the_note_is_refused(sign_in, dentist, case):
    answer = sign_in(dentist).post(
        url("case_prescription_edit", case), BRIDGE | {"note": "Mrs Testperson is shy"}
    )

    assert answer.status_code == 409
    assert "patient&#x27;s name" in answer.text


def test_e01_e03_long_note_and_markup_are_kept_and_shown_as_typed(sign_in, dentist, case):
    note = "<script>alert(1)</script> {{ 7 }} " + "x" * 5000 + "\nEND-OF-NOTE"
    browser = sign_in(dentist)

    browser.post(url("case_prescription_edit", case), {"note": note, "seen_revision": "1"})

    assert Prescription.objects.get().note == note
    page = browser.get(url("case_prescription", case)).text
    assert "&lt;script&gt;alert(1)&lt;/script&gt; {{ 7 }}" in page


def test_laboratory_does_not_see_a_draft(sign_in, technician, case):
    CaseParty.objects.filter(case=case, side="laboratory").update(seen_from=case.stage_since)

    page = sign_in(technician).get(url("case_prescription", case))

    assert "Nothing is prescribed yet" in page.text
