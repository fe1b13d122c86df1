"""Nothing that is hashed or kept of a case names its patient, whoever types it wherever."""

import json
import re
from datetime import date
from itertools import groupby

import pytest
from django.apps import apps
from django.db import transaction

from casework.audit.kinds import KINDS, TYPED
from casework.audit.models import Entry
from casework.audit.naming import typed_in
from casework.cases.services import hold_case
from casework.demo.story import Story
from casework.readings.services import change_reading, record_readings
from orders.parties.models import Partnership
from orders.patients.services import change_identity
from orders.prescriptions.models import Prescription
from orders.prescriptions.rules import CHOSEN
from orders.records import Revised
from orders.refusals import Refused
from tests import factories
from tests.casework.audit.typed_acts import CODE, NAME, TYPED_ACTS, WORDS

# The patient of the story is called Quirina Testperson.
NAMING = {WORDS: "as Ms Testperson wishes", NAME: "Dr Testperson", CODE: "TESTPERSON"}
HARMLESS = {WORDS: "as the patient wishes", NAME: "Dr Somebody", CODE: "T-1"}


def everything():
    """Every row of both apps."""
    models = [*apps.get_app_config("orders").get_models()]
    models += apps.get_app_config("casework").get_models()
    return {model: list(model.objects.order_by("pk").values()) for model in models}


def tried(act, story, text):
    """What the act was refused with, or "done"; taken back afterwards."""
    said = "done"
    with transaction.atomic():
        getattr(act, "prepare", lambda story: None)(story)
        before = everything()
        try:
            act(story, text)
        except Refused as refusal:
            said = f"{refusal}{'' if everything() == before else ' Half was kept.'}"
        transaction.set_rollback(True)
    story.case.refresh_from_db()
    return said


@pytest.mark.slow
@pytest.mark.django_db
def test_no_text_that_is_typed_about_a_case_names_its_patient(tell):
    story = tell("crown", "open")
    wrong, rows = [], {step: list(acts) for step, acts in groupby(TYPED_ACTS, lambda r: r[0])}

    for step in Story.STEPS:
        if step != "open":
            getattr(story, step)()
        for _step, label, kind, act in rows.get(step, ()):
            refused, done = tried(act, story, NAMING[kind]), tried(act, story, HARMLESS[kind])
            is_hit = re.match(f"“?{label}”? seems to hold the patient's name", refused)
            if not is_hit or "Half" in refused or done != "done":
                wrong.append((step, label, refused, done))

    assert not wrong, "\n".join(map(str, wrong))


# What an entry says in several words although nobody typed them for it: words of the program,
# names of parties, members and catalogue rows, and what the record beside it says as well.
_NOT_TYPED = set(
    """
    component courier from_party guide inspected_by kind made_by material name
    one_screw_test party place position sentence source state subject target tightened_how title
    to_party build
    """.split()
)


@pytest.mark.slow
@pytest.mark.django_db
def test_every_text_in_the_trail_of_a_case_is_known_as_typed_or_not(tell):
    story = tell("crown", "follow_up")

    strange = set()
    for entry in Entry.objects.filter(case=story.case.code):
        facts = json.loads(entry.text)["facts"]
        typed = {text for _field, text in typed_in(entry.kind, entry.subject, facts)}
        strange |= {
            (entry.kind, name)
            for name, text in texts_of(facts)
            if " " in text and text not in typed and name not in _NOT_TYPED | set(CHOSEN)
        }

    assert strange == set()


def texts_of(value, name=""):
    """Every text within plain facts, with the name it stands under."""
    if isinstance(value, dict):
        for key, item in value.items():
            yield from texts_of(item, key)
    elif isinstance(value, list):
        for item in value:
            yield from texts_of(item, name)
    elif isinstance(value, str):
        yield name, value


# Texts of records that are chosen from a list, which the service holds to, or are read off.
_CHOSEN = {
    "Appointment": {"kind", "state"},
    "BiteNote": {"position"},
    "FollowUp": {"name", "outcome", "bite", "screws_tight", "chipping"},
    "Implant": {"site", "soft_tissue"},
    "Parcel": {"move", "state"},
    "Part": {"kind", "place"},
    "Reading": {"site", "quantity", "direction"},
    "Prescription": set(CHOSEN),
    "ScanBodyUse": {"site", "tightened_how"},
    "ScrewRecord": {"site"},
    "ShadeNote": {"cervical", "body", "incisal"},
    "TryIn": {
        "seated",
        "one_screw_test",
        "screw_and_driver_clear",
        "blanching_fades",
        "contacts",
        "bite",
        "excursions",
        "look",
        "patient_agrees",
    },
}


# Rows of another table, said by the text that a person typed there.
_SAID_BY_THEIR_TEXT = {"material_lot"}


def records():
    return [Prescription, *(model for model in apps.get_models() if issubclass(model, Revised))]


@pytest.mark.parametrize("model", records(), ids=lambda model: model.__name__)
def test_every_text_of_a_record_is_typed_or_chosen(model):
    texts = {
        field.name
        for field in model._meta.fields
        if field.name in model.FACTS and field.get_internal_type() in ("CharField", "TextField")
    }

    typed = set(model.TYPED) - _SAID_BY_THEIR_TEXT
    assert texts == typed | _CHOSEN.get(model.__name__, set())


def test_what_is_typed_belongs_to_a_kind_of_event():
    assert set(TYPED) <= set(KINDS)


def read(case, by, **said):
    told = {
        "site": "46",
        "quantity": "mobility",
        "held": False,
        "measured_on": date(2026, 3, 2),
    }
    (row,) = record_readings(case, by=by, readings=[told | said])
    return row


def test_a_colleague_may_be_called_as_the_patient_is(case, practice, dentist):
    """Somebody of the own house or of one it works with, by whole name or with a title."""
    surgery = factories.make_party("placing practice", name="Surgery", partner_of=practice)
    factories.make_member(surgery, "surgeon", name="Quirin Testperson")

    assert read(case, dentist, measured_by="Dr. Testperson").measured_by == "Dr. Testperson"
    with pytest.raises(Refused, match="“Read by”"):
        read(case, dentist, measured_by="Quirina Testperson")
    with pytest.raises(Refused, match="“Note”"):
        read(case, dentist, note="Testperson")


def test_a_member_who_is_the_patients_namesake_works_on(case, practice):
    namesake = factories.make_member(practice, "dentist", name="Quirina Testperson")

    assert read(case, namesake).measured_by == "Quirina Testperson"


def test_a_namesake_of_another_house_is_no_excuse(case, dentist, other_practice):
    factories.make_member(other_practice, "dentist", name="Quirin Testperson")

    with pytest.raises(Refused, match="write the initials"):
        read(case, dentist, measured_by="Dr Testperson")


def test_a_party_called_as_the_patient_is_can_be_chosen(case, practice, dentist):
    from casework.cases.services import choose_party

    house = factories.make_party("laboratory", name="Laboratory Testperson")
    Partnership.objects.create(practice=practice, partner=house)

    choose_party(case, side="laboratory", party=house, by=dentist)

    assert case.order.laboratory == house


def test_a_text_from_before_the_name_was_corrected_is_carried_along(case, patient, dentist):
    row = read(case, dentist, note="Seen by Newname.")
    change_identity(patient, by=dentist, name="Quirina Newname")

    change_reading(case, by=dentist, reading=row, held=True)

    row.refresh_from_db()
    assert row.held is True
    with pytest.raises(Refused, match="“Note”"):
        change_reading(case, by=dentist, reading=row, note="Seen by Newname again.")


def test_every_field_that_names_the_patient_is_said(case, dentist):
    with pytest.raises(Refused) as refusal:
        read(case, dentist, note="Quirina", measured_by="Testperson")

    assert [sentence[:9] for sentence in refusal.value.sentences] == ["“Read by”", "“Note” se"]


def test_other_patients_of_the_practice_are_not_looked_for(case, practice, dentist):
    factories.make_patient(practice, name="Benno Musterfall")

    hold_case(case, by=dentist, reason="Musterfall first.", look_again_on=date(2100, 1, 1))

    assert case.is_on_hold
