"""Is a draft kept from being overwritten, and a signed prescription from being written?"""

from datetime import date
from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction

from casework.audit.models import Entry
from orders.catalogue.models import Material
from orders.implants.models import Dentition, Implant
from orders.prescriptions import queries, services
from orders.prescriptions.models import Prescription, SignedAlready
from orders.prescriptions.rules import CHOSEN
from orders.records import ChangedMeanwhile
from orders.refusals import Refused
from tests.factories import make_case, make_member, make_patient

FAR = date(2999, 1, 4)
CROWN = {
    "units": [{"tooth": "45", "kind": "crown", "on": "implant"}],
    "sites": {
        "45": {
            "level": "implant",
            "engaging": True,
            "build": "abutment and restoration",
            "abutment_material": "titanium",
            "base_material": "titanium",
        }
    },
    "material_family": "zirconia",
    "strength_class": 4,
    "retention": "screw",
    "contacts": "usual",
    "occlusal_scheme": "guided by the canine",
    "grinding": "none",
    "emergence": "concave",
    "surface": "glazed",
    "allergies": "none known",
    "wanted_on": FAR,
    "fee": "estimate agreed",
}


@pytest.fixture
def draft(case):
    Implant.objects.create(patient=case.order.patient, site="45", revision=1)
    Dentition.objects.create(
        patient=case.order.patient, present=["44"], checked_on=date(2026, 1, 1), revision=1
    )
    return case.order.prescriptions.get()


@pytest.fixture
def signed(draft, dentist):
    services.save_draft(draft, by=dentist, **CROWN)
    return services.sign_prescription(draft, by=dentist)


def test_draft_keeps_what_was_not_named(draft, dentist):
    services.save_draft(draft, by=dentist, note="light contacts")
    services.save_draft(draft, by=dentist, surface="glazed")

    draft.refresh_from_db()
    assert (draft.note, draft.surface, draft.revision) == ("light contacts", "glazed", 3)


def test_d18_second_tab_is_refused_and_shown_what_stands(draft, dentist):
    other_tab = Prescription.objects.get(pk=draft.pk)
    services.save_draft(draft, by=dentist, seen_revision=1, note="kept")

    with pytest.raises(ChangedMeanwhile) as refused:
        services.save_draft(other_tab, by=dentist, seen_revision=1, surface="glazed")

    assert refused.value.current.note == "kept"
    assert Prescription.objects.get(pk=draft.pk).surface == ""


def test_patients_name_in_the_note_is_refused(draft, dentist):
    with pytest.raises(Refused, match="patient's name"):
        services.save_draft(draft, by=dentist, note="Mrs Testperson wants it lighter")

    assert Prescription.objects.get(pk=draft.pk).revision == 1


@pytest.mark.parametrize("name", CHOSEN)
def test_what_is_chosen_stands_in_its_list(draft, dentist, name):
    with pytest.raises(Refused, match=f"cannot be chosen as {name.replace('_', ' ')}"):
        services.save_draft(draft, by=dentist, **{name: "whatever the laboratory likes best"})
    draft.refresh_from_db()
    assert getattr(draft, name) == "" and draft.revision == 1


def test_technician_writes_no_prescription(draft, technician):
    with pytest.raises(PermissionDenied):
        services.save_draft(draft, by=technician, note="x")


def test_chosen_material_brings_family_and_class(draft, dentist):
    material = Material.objects.create(
        name="Invented block", family="zirconia", strength_class=5, source="invented"
    )

    services.save_draft(draft, by=dentist, material=material)

    assert (draft.material_family, draft.strength_class) == ("zirconia", 5)


def test_another_partys_material_is_refused(draft, dentist, other_practice):
    material = Material.objects.create(
        owner=other_practice, name="Theirs", family="zirconia", source="invented"
    )

    with pytest.raises(Refused, match="not in your catalogue"):
        services.save_draft(draft, by=dentist, material=material)


def test_screw_retention_drops_the_cement_margin(draft, dentist):
    services.save_draft(draft, by=dentist, retention="cement", margin_depth_mm=Decimal("1"))
    services.save_draft(draft, by=dentist, retention="screw")

    assert Prescription.objects.get(pk=draft.pk).margin_depth_mm is None


def test_incomplete_draft_is_not_signed(draft, dentist):
    with pytest.raises(Refused, match="orders no units"):
        services.sign_prescription(draft, by=dentist)

    assert Prescription.objects.get(pk=draft.pk).state == "draft"


def test_signing_locks_the_text_with_its_digest(signed):
    stored = Prescription.objects.get(pk=signed.pk)

    assert stored.state == "signed"
    assert stored.signed_digest == stored.digest()
    assert Entry.objects.filter(kind="prescription.signed", case=stored.order.code).exists()


def test_nobody_signs_for_another(draft, dentist, practice):
    services.save_draft(draft, by=dentist, **CROWN)
    colleague = make_member(practice, "dentist")

    with pytest.raises(Refused, match="nobody signs for another"):
        services.sign_prescription(draft, by=colleague)


def test_assistant_writes_but_does_not_sign(draft, dentist, assistant):
    services.save_draft(draft, by=assistant, **CROWN)

    with pytest.raises(PermissionDenied):
        services.sign_prescription(draft, by=assistant)


def test_signed_prescription_is_never_written_by_a_service(signed, dentist):
    with pytest.raises(Refused, match="is signed"):
        services.save_draft(signed, by=dentist, note="late thought")

    assert Prescription.objects.get(pk=signed.pk).note == ""


@pytest.mark.parametrize("change", [{"note": "x"}, {"state": "draft"}, {"state": "superseded"}])
def test_signed_prescription_is_never_written_by_the_model(signed, change):
    for name, value in change.items():
        setattr(signed, name, value)

    with pytest.raises(SignedAlready):
        signed.save()

    with pytest.raises(SignedAlready):
        Prescription.objects.get(pk=signed.pk).delete()


def test_amendment_is_a_copy_and_supersedes_when_signed(signed, dentist):
    draft = services.begin_amendment(signed.order, by=dentist)
    assert (draft.number, draft.units) == (2, signed.units)

    services.save_draft(draft, by=dentist, note="firmer contacts")
    services.sign_prescription(draft, by=dentist)

    states = dict(signed.order.prescriptions.values_list("number", "state"))
    assert states == {1: "superseded", 2: "signed"}
    assert Prescription.objects.get(number=1, order=signed.order).digest() == (
        signed.signed_digest
    )


def test_one_amendment_at_a_time(signed, dentist):
    services.begin_amendment(signed.order, by=dentist)

    with pytest.raises(Refused, match="begun already"):
        services.begin_amendment(signed.order, by=dentist)
    with pytest.raises(IntegrityError), transaction.atomic():
        Prescription.objects.create(order=signed.order, number=9)


def test_withdrawn_amendment_leaves_the_signed_one(signed, dentist):
    draft = services.begin_amendment(signed.order, by=dentist)

    services.withdraw_draft(draft, by=dentist)

    assert queries.draft_of(signed.order) is None
    assert queries.signed_of(signed.order) == signed


def test_only_draft_of_an_order_is_not_withdrawn(draft, dentist):
    with pytest.raises(Refused, match="only prescription"):
        services.withdraw_draft(draft, by=dentist)


def test_last_choices_of_the_practice_are_proposed_again(signed, dentist):
    patient = make_patient(dentist.party)
    other = make_case(dentist, patient=patient)

    proposed = queries.last_choices(other.order)

    assert proposed["material_family"] == "zirconia"
    assert proposed["occlusal_scheme"] == "guided by the canine"
    assert "allergies" not in proposed
    assert proposed["site"]["level"] == "implant"
