"""How is asked and answered across the sides?"""

import pytest
from django.core.exceptions import PermissionDenied

from casework.audit.models import Entry
from casework.cases.models import CaseParty
from casework.designs.queries import current_version
from casework.questions import queries, services
from casework.stages import Stage
from orders.refusals import Refused
from tests.bench import make_mesh_file, make_ordered_case, make_version, put_at

pytestmark = pytest.mark.django_db


@pytest.fixture
def ordered(dentist, laboratory):
    return make_ordered_case(dentist, laboratory)


def test_each_side_asks_the_other_by_default(
    ordered, dentist, technician, practice, laboratory
):
    first = services.ask_question(ordered, by=technician, text="Open the embrasure at 46?")
    second = services.ask_question(ordered, by=dentist, text="Which lot of base?")

    assert (first.number, first.to_party) == (1, practice)
    assert (second.number, second.to_party) == (2, laboratory)
    assert list(queries.open_questions(ordered, practice)) == [first]
    assert Entry.objects.filter(kind="question.asked", case=ordered.code).count() == 2


def test_written_answer_is_the_asked_partys(ordered, dentist, technician):
    question = services.ask_question(ordered, by=technician, text="Ovate or ridge lap?")

    with pytest.raises(PermissionDenied):
        services.answer_question(question, by=technician, text="Ovate.")

    answered = services.answer_question(question, by=dentist, text="Ovate.")
    assert answered.answered_how == "written"
    with pytest.raises(Refused, match="answered already"):
        services.answer_question(question, by=dentist, text="Ridge lap.")


def test_call_noted_answers_but_approves_nothing(ordered, dentist, technician):
    make_version(ordered, technician, state="submitted")
    put_at(ordered, Stage.DESIGN_APPROVAL)
    question = services.ask_question(ordered, by=technician, text="May we mill version 1?")

    services.answer_question(
        question, by=technician, text="Dora Dentist said yes.", how="call noted"
    )

    ordered.refresh_from_db()
    assert ordered.stage == Stage.DESIGN_APPROVAL
    assert current_version(ordered).state == "submitted"
    assert not ordered.signatures.exists()


def test_question_about_a_file_or_version_of_this_case_only(
    ordered, technician, dentist, laboratory
):
    version = make_version(ordered, technician)
    other = make_mesh_file(make_ordered_case(dentist, laboratory), technician)

    asked = services.ask_question(
        ordered, by=technician, text="Is 46 high enough?", about=version.subject
    )

    assert asked.about == version.subject
    with pytest.raises(Refused, match="not part of this case"):
        services.ask_question(ordered, by=technician, text="This?", about=other.subject)
    # A draft is not the practice's to know of.
    with pytest.raises(Refused, match="not part of this case"):
        services.ask_question(ordered, by=dentist, text="This?", about=version.subject)


def test_nobody_is_asked_who_does_not_see_the_case(ordered, dentist):
    CaseParty.objects.filter(case=ordered, side="laboratory").update(seen_from=None)

    with pytest.raises(Refused, match="does not see this case yet"):
        services.ask_question(ordered, by=dentist, text="Ready soon?")


def test_front_desk_asks_nothing_and_a_closed_case_takes_no_question(
    ordered, front_desk, dentist
):
    with pytest.raises(PermissionDenied):
        services.ask_question(ordered, by=front_desk, text="When?")

    put_at(ordered, Stage.CLOSED)
    with pytest.raises(Refused, match="not the time"):
        services.ask_question(ordered, by=dentist, text="When?")


def test_name_of_the_patient_stays_out_of_questions(ordered, dentist):
    with pytest.raises(Refused, match="patient's name"):
        services.ask_question(ordered, by=dentist, text="Is Testperson ready?")
