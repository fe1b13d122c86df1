"""What does somebody read of a case that is not theirs, or of a part of it that is not?"""

import re

import pytest
from django.core.files.storage import default_storage
from django.urls import reverse
from django.utils import timezone

from casework.handoffs.models import Handoff
from casework.handoffs.offers import withdraw_offer
from casework.handoffs.outcomes import withdraw_as_wrong_patient
from orders.parties.models import Party
from orders.parties.services import switch_off_member
from tests.access.rows import BENCH, EVERYBODY, MILL, ON_THE_CASE, OUTSIDE, ROWS, SCANS
from tests.access.walking import address, ask, client_for
from tests.access.world import NAME

pytestmark = pytest.mark.django_db

LISTS = ("cases", "api_cases", "board_decide", "board_make", "board_waiting", "board_mine",
         "board_front_desk", "board_load", "patients", "notices")  # fmt: skip
AT_THE_PRACTICE = "dentist surgeon assistant hygienist desk lead admin"
ELSEWHERE = [key for key in EVERYBODY.split() if key not in AT_THE_PRACTICE.split()]


def _case_rows():
    return {name: row for name, row in ROWS.items() if row.args.startswith("code")}


def _bodies(world, key, *, rows=ROWS):
    """What every page that a member may open says, and what they may take along."""
    client = client_for(world.members[key])
    for name, row in rows.items():
        if row.get and key in row.get.split():
            answer = ask(client, "GET", address(world, name, row))
            yield name, answer.body.decode(errors="replace")
    if key in ROWS["case_files_download"].post.split():
        answer = ask(client, "POST", reverse("case_files_download", args=[world.case.code]))
        yield "case_files_download", answer.body.decode(errors="replace")


@pytest.mark.parametrize("key", OUTSIDE.split())
def test_f01_no_list_search_or_count_names_a_foreign_case(world, key):
    client, code = client_for(world.members[key]), world.case.code
    patient = world.patient.code

    for name in LISTS:
        for query in ("", f"?q={code}", f"?q={NAME.split()[0]}", f"?q={patient}", "?over=yes"):
            body = ask(client, "GET", reverse(name) + query).body.decode()
            # The search field shows what was typed.
            said = re.sub(r'value="[^"]*"', "", body.replace(query[3:], "", 0))
            links = re.findall(r'href="/(?:cases|patients)/([^/"]+)/"', said)
            assert code not in links and patient not in links, (name, query)
            assert f'"code":"{code}"' not in body
    found = ask(client, "GET", f"{reverse('api_cases')}?q={code}").json()
    assert found["cases"] == []


@pytest.mark.parametrize("key", ["other_dentist", "other_technician"])
def test_f01_numbers_of_a_foreign_case_open_nothing_under_ones_own(world, key):
    member, wrong = world.members[key], []
    client = client_for(member)

    for name, row in _case_rows().items():
        if len(row.args.split()) == 1 or name in ("case_move", "api_move", "parcel_pack"):
            continue
        url = address(world, name, row, code=world.other.case.code)
        for method, who in (("GET", row.get), ("POST", row.post)):
            if who and ask(client, method, url).status_code not in (403, 404):
                wrong.append(f"{method} {name}")

    # Numbered from one in every case, not an id that could be another's.
    assert set(wrong) <= {"GET try_in_record", "POST try_in_record"}, wrong


@pytest.mark.parametrize("method", ["put", "patch", "delete"])
def test_f01_no_other_method_gets_further(world, method):
    client = client_for(world.members["other_technician"])
    code = world.case.code

    for url in (f"/cases/{code}/", f"/api/cases/{code}/", f"/api/cases/{code}/files/"):
        answer = getattr(client, method)(url, b"{}", content_type="application/json")
        assert answer.status_code in (403, 404, 405)
        assert NAME.encode() not in answer.content


def _file_url(world, number):
    return reverse("case_file_download", args=[world.case.code, number])


def test_f02_file_needs_its_session_and_its_party(world):
    url = _file_url(world, world.scan.number)
    client = client_for(world.members["technician"])
    answer = ask(client, "GET", url)
    assert answer.status_code == 200 and answer.body
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Disposition"].startswith("attachment")

    client.post(reverse("sign_out"))
    assert client.get(url).status_code == 302
    for key in (*OUTSIDE.split(), *MILL.split()):
        assert ask(client_for(world.members[key]), "GET", url).status_code == 404


def test_f02_another_number_opens_nothing_that_was_not_handed_over(world):
    client = client_for(world.members["processor"])
    numbers = list(world.case.evidence.values_list("number", flat=True))

    opened = [
        number
        for number in [*numbers, max(numbers) + 1]
        if ask(client, "GET", _file_url(world, number)).status_code == 200
    ]

    assert opened == [world.scan.number]


def test_f02_stored_files_have_no_address_of_their_own(world):
    client = client_for(world.members["dentist"])
    key = world.scan.storage_key
    assert default_storage.exists(key)

    for folder in ("media", "files", "static", "var/files", "static/.."):
        assert client.get(f"/{folder}/{key}").status_code == 404


def test_d10_session_and_api_end_with_the_membership(world):
    technician, lead = world.members["technician"], world.members["lab_admin"]
    client = client_for(technician)
    assert client.get(reverse("case", args=[world.case.code])).status_code == 200

    switch_off_member(technician, by=lead)

    assert client.get(reverse("case", args=[world.case.code])).status_code == 302
    assert client.get(reverse("api_cases")).status_code in (401, 403)


def test_wrong_patient_is_left_to_the_practices_dentists(world):
    withdraw_as_wrong_patient(world.case, by=world.members["dentist"])
    rows, wrong = _case_rows(), []

    for key in ON_THE_CASE.split():
        if key == "dentist":
            continue
        client = client_for(world.members[key])
        # Every address of the case for two of them, what all others start from for the rest.
        names = rows if key in ("surgeon", "technician") else ("case", "api_case", "case_files")
        for name in names:
            row = rows[name]
            method = "GET" if row.get else "POST"
            status = ask(client, method, address(world, name, row)).status_code
            if status != 404:
                wrong.append(f"{key} {method} {name}: {status}")
        for name in LISTS:
            if name == "notices":
                continue  # says by code what to delete
            url = f"{reverse(name)}?q={world.case.code}"
            links = re.findall(r'/cases/([^/"]+)/"', ask(client, "GET", url).body.decode())
            if world.case.code in links:
                wrong.append(f"{key} reads of it in {name}")
        if key in ROWS["patient"].get.split():
            page = ask(client, "GET", reverse("patient", args=[world.patient.code]))
            if world.case.code in page.body.decode():
                wrong.append(f"{key} reads of it on the patient's page")

    assert not wrong, "\n".join(wrong)
    dentist = client_for(world.members["dentist"])
    assert ask(dentist, "GET", reverse("case", args=[world.case.code])).status_code == 200
    found = ask(dentist, "GET", f"{reverse('api_cases')}?q={world.case.code}").json()
    assert [row["code"] for row in found["cases"]] == [world.case.code]


def test_offer_withdrawn_before_it_was_taken_leaves_nothing(world):
    case, dentist = world.other.case, world.members["other_dentist"]
    case.stage = "scan capture"
    case.save()
    offer = Handoff.objects.create(
        case=case,
        number=1,
        move="send_order",
        source="scan capture",
        target="design",
        from_party=world.other.practice,
        to_party=world.other.laboratory,
        offered_by=dentist,
        offered_at=timezone.now(),
        state="offered",
        manifest="{}",
    )
    client = client_for(world.members["other_technician"])
    url = reverse("case", args=[case.code])
    assert ask(client, "GET", url).status_code == 200

    withdraw_offer(offer, by=dentist, reason="Not this one.")

    for name in ("case", "case_handoffs", "case_files", "case_papers", "api_case"):
        assert ask(client, "GET", reverse(name, args=[case.code])).status_code == 404
    for name in ("cases", "board_make", "api_cases"):
        said = ask(client, "GET", f"{reverse(name)}?q={case.code}").body.decode()
        assert f"/cases/{case.code}/" not in said and f'"code":"{case.code}"' not in said


def _told(body):
    """What of the patient's identity a text holds."""
    return [word for word in (*NAME.split(), "1968-04-02", "CH-4711") if word in body]


@pytest.mark.parametrize("key", ELSEWHERE)
def test_nothing_that_identifies_the_patient_leaves_the_practice(world, key):
    told = {name: _told(body) for name, body in _bodies(world, key)}

    assert not {name: found for name, found in told.items() if found}


@pytest.mark.parametrize(
    "key",
    "technician lab_lead lab_admin processor miller placing_surgeon other_technician".split(),
)
def test_shown_name_reaches_who_works_on_the_case_but_no_centre(world, key):
    practice = world.parties["practice"]
    Party.objects.filter(pk=practice.pk).update(shows_patient_name=True)
    told = {name: _told(body) for name, body in _bodies(world, key, rows=_case_rows())}
    found = set().union(*told.values()) if told else set()

    may_read = key in f"{BENCH} placing_surgeon placing_lead".split()
    assert found == (set(NAME.split()) if may_read else set())


def test_question_is_read_by_who_asked_and_who_is_asked(world):
    texts = {key: row.text for key, row in world.questions.items()}
    reads = {
        "technician": {"lab", "mill"},
        "processor": {"scans"},
        "miller": {"mill"},
        "placing_surgeon": set(),
        "dentist": {"lab", "scans"},
    }

    for key, expected in reads.items():
        client = client_for(world.members[key])
        for name in ("case", "case_questions"):
            body = ask(client, "GET", reverse(name, args=[world.case.code])).body.decode()
            assert {one for one, text in texts.items() if text in body} == expected, (key, name)


@pytest.mark.parametrize("key", [*SCANS.split(), *MILL.split(), "placing_surgeon"])
def test_condition_between_practice_and_laboratory_is_theirs(world, key):
    for name, body in _bodies(world, key, rows=_case_rows()):
        assert world.condition.text not in body, name


@pytest.mark.parametrize("key", BENCH.split())
def test_draft_of_the_prescription_does_not_leave_the_practice(world, key):
    for name, body in _bodies(world, key, rows=_case_rows()):
        assert "9, draft" not in body, name


@pytest.mark.parametrize("key", MILL.split())
def test_milling_centre_reads_part_material_and_code_only(world, key):
    patient = world.case.order.patient
    secrets = (patient.code, patient.age_band, world.parties["practice"].name,
               world.members["dentist"].person.name)  # fmt: skip

    for name, body in _bodies(world, key, rows=_case_rows()):
        assert not [word for word in secrets if word in body], name
