"""Are records written on their pages, and what is typed wrongly said beside its field?"""

from datetime import date

import pytest
from django.urls import reverse

from casework.cases.models import CaseParty
from casework.readings.models import BiteNote, Reading, ScanBodyUse
from orders.catalogue.models import Component, Material, System
from orders.implants.models import Dentition, Implant
from orders.patients.models import Patient
from orders.prescriptions.models import Prescription
from orders.shades.models import ShadeGuide, ShadeNote
from tests.factories import make_party

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


def test_readings_are_added_several_at_once(sign_in, assistant, case):
    Implant.objects.create(patient=case.order.patient, site="45", revision=1)
    browser = sign_in(assistant)
    page = browser.get(url("case_readings_add", case))
    assert 'name="row0-site" value="45"' in page.text

    browser.post(
        url("case_readings_add", case),
        {
            "row_count": "3",
            "measured_on": "2026-01-12",
            "measured_by": "Asa",
            "row0-site": "45",
            "row0-quantity": "stability_quotient",
            "row0-value": "71,5",
            "row0-direction": "mesial",
            "row1-site": "45",
            "row1-quantity": "stability_quotient",
            "row1-direction": "buccal",
            "row2-site": "45",
            "row2-quantity": "torque_test_ncm",
            "row2-value": "35",
            "row2-direction": "forward",
            "row2-held": "yes",
        },
    )

    kept = Reading.objects.order_by("pk").values_list("quantity", "value", "held")
    assert [(quantity, float(value), held) for quantity, value, held in kept] == [
        ("stability_quotient", 71.5, None),
        ("torque_test_ncm", 35.0, True),
    ]
    assert "71.50 (1-100)" in browser.get(url("case_readings", case)).text


def test_impossible_reading_is_refused_with_409(sign_in, assistant, case):
    told = {
        "row_count": "1",
        "measured_on": "2026-01-12",
        "measured_by": "Asa",
        "row0-site": "45",
        "row0-quantity": "stability_quotient",
        "row0-value": "710",
        "row0-direction": "mesial",
    }

    answer = sign_in(assistant).post(url("case_readings_add", case), told)

    assert answer.status_code == 409
    assert "between 1 and 100" in answer.text
    assert not Reading.objects.exists()


def test_reading_is_corrected_on_its_page(sign_in, assistant, case):
    row = Reading.objects.create(
        case=case,
        site="45",
        quantity="insertion_torque_ncm",
        value=40,
        measured_on=date(2026, 1, 12),
        measured_by="Asa",
        revision=1,
    )
    browser = sign_in(assistant)
    assert browser.get(url("case_reading", case, row.pk)).status_code == 200

    browser.post(
        url("case_reading", case, row.pk),
        {
            "site": "45",
            "quantity": "insertion_torque_ncm",
            "value": "35",
            "measured_on": "2026-01-12",
            "measured_by": "Asa",
            "seen_revision": "1",
        },
    )

    row.refresh_from_db()
    assert (row.value, row.revision) == (35, 2)


def test_scan_body_is_recorded_at_its_site(sign_in, assistant, case):
    body = Component.objects.create(
        kind="scan body", part_number="SB-1", name="Body", source="invented", torque_ncm=5
    )
    Implant.objects.create(patient=case.order.patient, site="45", revision=1)
    browser = sign_in(assistant)
    assert "45" in browser.get(url("case_scan_bodies", case)).text
    assert "5 N·cm" in browser.get(url("case_scan_body_add", case)).text

    browser.post(
        url("case_scan_body_add", case),
        {"site": "45", "component": body.pk, "placed_on": "2026-01-12", "lot": "S-1"},
    )

    assert ScanBodyUse.objects.get().component == body
    assert "not verified" in browser.get(url("case_scan_bodies", case)).text


def test_bite_is_recorded(sign_in, assistant, case):
    sign_in(assistant).post(
        url("case_bite_edit", case),
        {
            "position": "maximum intercuspation",
            "seated": "healing abutments",
            "support_behind": "no",
            "taken_on": "2026-01-12",
        },
    )

    note = BiteNote.objects.get()
    assert (note.support_behind, note.jaws_aligned) == (False, False)


def test_shade_is_noted_with_a_tab_of_the_guide(sign_in, assistant, practice, case):
    guide = ShadeGuide.objects.create(owner=practice, name="Guide", tabs=["L1", "L2"])
    told = {"guide": guide.pk, "body": "L9", "light": "daylight", "taken_on": "2026-01-12"}
    browser = sign_in(assistant)

    wrong = browser.post(url("case_shade_edit", case), told)
    assert wrong.status_code == 422
    assert "L1, L2" in wrong.text

    browser.post(url("case_shade_edit", case), told | {"body": "L2"})
    assert ShadeNote.objects.get().body == "L2"
    assert "L2" in browser.get(url("case_shade", case)).text


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


def test_parties_are_chosen_among_partners(sign_in, dentist, practice, case):
    make_party("scan centre", name="Clean Scans", partner_of=practice)
    stranger = make_party("scan centre", name="Stranger")
    centre = practice.partnerships.get(partner__kind="scan centre").partner
    browser = sign_in(dentist)
    page = browser.get(url("case_party_choose", case)).text
    assert "Clean Scans" in page and "Stranger" not in page

    browser.post(url("case_party_choose", case), {"scan_centre": centre.pk})
    wrong = browser.post(url("case_party_choose", case), {"scan_centre": stranger.pk})

    assert wrong.status_code == 422
    assert CaseParty.objects.get(case=case, side="scan centre").party == centre
    assert "Clean Scans" in browser.get(url("case_parties", case)).text


def test_front_desk_enters_a_patient_and_the_dentist_opens_a_case(
    sign_in, front_desk, dentist, laboratory
):
    browser = sign_in(front_desk)
    browser.post(reverse("patient_add"), {"name": "Nora O'Brien", "birth_date": "1968-04-02"})
    patient = Patient.objects.get()
    address = reverse("patient_open_case", args=[patient.code])
    assert browser.post(address, {}).status_code == 403

    browser = sign_in(dentist)
    assert "Nora O&#x27;Brien" in browser.get(reverse("patients"), {"q": "o\u2019brien"}).text
    answer = browser.post(address, {"laboratory": laboratory.pk})

    case = patient.orders.get().case
    assert answer["Location"] == reverse("case", args=[case.code])


def test_e10_birth_date_in_the_future_is_refused_on_the_page(sign_in, front_desk):
    answer = sign_in(front_desk).post(
        reverse("patient_add"), {"name": "A", "birth_date": "2999-01-01"}
    )

    assert answer.status_code == 422
    assert "future" in answer.text
    assert not Patient.objects.exists()


def test_patients_of_another_practice_do_not_exist(sign_in, dentist, other_practice):
    from tests.factories import make_patient

    other = make_patient(other_practice, name="Hidden Person")
    browser = sign_in(dentist)

    assert "Hidden" not in browser.get(reverse("patients"), {"q": "hidden"}).text
    assert browser.get(reverse("patient", args=[other.code])).status_code == 404


def test_technician_has_no_patients(sign_in, technician):
    assert sign_in(technician).get(reverse("patients")).status_code == 403


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
