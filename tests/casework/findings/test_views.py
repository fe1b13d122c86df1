"""Does the page learn that a gate was checked, and nobody else that it exists?"""

from django.urls import reverse

from casework.findings.services import ask_for_gate
from casework.stages import Stage, find_move
from orders.jobs.models import Job
from tests import factories

READY = find_move(Stage.PLANNING, "ready_to_scan")


def test_waiting_gate_says_so_and_a_checked_one_refreshes_the_page(
    case, dentist, sign_in, run_jobs
):
    run = ask_for_gate(case, move=READY, by=dentist)
    address = reverse("case_gate", args=[case.code, run.pk])
    client = sign_in(dentist)

    waiting = client.get(address)
    run_jobs()
    done = client.get(address)

    assert waiting.status_code == 200 and address in waiting.content.decode()
    assert done["HX-Refresh"] == "true"


def test_waiting_gate_says_what_is_being_measured(case, dentist, sign_in):
    run = ask_for_gate(case, move=READY, by=dentist)
    Job.objects.filter(kind="findings.gate", subject_id=run.pk).update(progress="arch")

    waiting = sign_in(dentist).get(reverse("case_gate", args=[case.code, run.pk]))

    assert "Measuring before it is checked: arch" in waiting.content.decode()


def test_gate_of_a_case_of_others_does_not_exist(case, dentist, sign_in, other_practice):
    run = ask_for_gate(case, move=READY, by=dentist)
    stranger = factories.make_member(other_practice, "dentist")

    answer = sign_in(stranger).get(reverse("case_gate", args=[case.code, run.pk]))

    assert answer.status_code == 404


def test_gate_of_another_case_does_not_answer_here(case, dentist, sign_in, laboratory):
    other = factories.make_case(dentist, laboratory=laboratory)
    run = ask_for_gate(other, move=READY, by=dentist)

    answer = sign_in(dentist).get(reverse("case_gate", args=[case.code, run.pk]))

    assert answer.status_code == 404
