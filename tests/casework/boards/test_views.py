"""Do the boards show each member what waits, in few queries, and nothing of others?"""

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from casework.boards.services import write_summaries
from casework.cases.models import Case, Summary
from casework.schedule.models import Appointment
from tests.casework.boards.standing import case_at, offer, show_to
from tests.factories import make_member, make_party, make_patient

pytestmark = pytest.mark.django_db


def page(client, name, *args, **query):
    response = client.get(reverse(name, args=args), query)
    assert response.status_code == 200
    return response.content.decode()


def test_each_role_starts_on_its_board(sign_in, front_desk):
    response = sign_in(front_desk).get(reverse("start"))

    assert response.url == reverse("board_front_desk")


def test_stranger_is_sent_to_sign_in(client):
    assert client.get(reverse("start")).url.startswith(reverse("sign_in"))


def test_dentist_sees_the_design_to_approve_with_the_patients_name(
    sign_in, dentist, laboratory
):
    patient = make_patient(dentist.party, name="O'Brien <b>")
    case = case_at("design approval", by=dentist, laboratory=laboratory, patient=patient)

    shown = page(sign_in(dentist), "board_decide")

    assert case.code in shown and "O&#x27;Brien &lt;b&gt;" in shown
    assert "Approve or ask" in shown


def test_technician_sees_the_order_to_answer_without_the_patients_name(
    sign_in, dentist, technician, laboratory, patient
):
    case = case_at("scan capture", by=dentist, laboratory=laboratory, patient=patient)
    show_to(case, "laboratory")
    offer(case, "send_order", by=dentist, to=laboratory)

    shown = page(sign_in(technician), "board_make")

    assert case.code in shown and "Accept or return the order" in shown
    assert patient.identity.name not in shown and dentist.party.name in shown


def test_empty_board_says_what_to_do(sign_in, technician):
    shown = page(sign_in(technician), "board_make")

    assert "It shows here when a practice sends it." in shown


def test_teeth_are_shown_in_the_partys_notation(sign_in, dentist, laboratory, practice):
    practice.notation = "universal"
    practice.save()
    prescribed = {"teeth": ["45", "46", "47"]}
    case_at("design approval", by=dentist, laboratory=laboratory, prescribed=prescribed)

    shown = page(sign_in(dentist), "board_decide")

    assert "29-31" in shown or "31-29" in shown
    assert "universal notation; ISO 3950: 47 46 45" in shown


def visit(case, kind, **fields):
    at = timezone.now() + timedelta(days=9)
    row = Appointment(case=case, kind=kind, at=at, minutes=90, **fields)
    row.save()
    write_summaries(case)
    return row


def test_front_desk_sees_who_can_come_and_why_not(sign_in, front_desk, dentist, laboratory):
    booked = case_at("try-in", by=dentist, laboratory=laboratory)
    visit(booked, "try-in")
    unbooked = case_at("delivery", by=dentist, laboratory=laboratory)
    ready = case_at("try-in", by=dentist, laboratory=laboratory)
    visit(ready, "try-in")
    Summary.objects.filter(case=ready).update(not_ready_because="", parts_here=True)

    shown = page(sign_in(front_desk), "board_front_desk")

    assert all(case.code in shown for case in (booked, unbooked, ready))
    assert "The parts are not made yet." in shown and "<strong>Ready</strong>" in shown
    assert "90 minutes" in shown and "book it" in shown


def test_coordinator_sees_load_late_unassigned_and_away(
    sign_in, dentist, laboratory, technician, lab_lead
):
    today = timezone.now().date()
    technician.away_until = today + timedelta(days=5)
    technician.save()
    late = case_at(
        "design",
        by=dentist,
        laboratory=laboratory,
        assigned=technician,
        promised_on=today - timedelta(days=2),
    )
    nobody = case_at("design", by=dentist, laboratory=laboratory)

    response = sign_in(lab_lead).get(reverse("board_load"))

    context = response.context
    loads = {load.member.pk: load for load in context["loads"]}
    assert (loads[technician.pk].turn_count, loads[technician.pk].late_count) == (1, 1)
    assert loads[technician.pk].is_away and not loads[lab_lead.pk].is_away
    assert [row.code for row in context["late"].rows] == [late.code]
    assert [row.code for row in context["unassigned"].rows] == [nobody.code]
    assert [row.code for row in context["of_away"].rows] == [late.code]
    assert "2 days late" in response.content.decode()


@pytest.mark.parametrize(
    ("kind", "role", "stage", "word"),
    [
        ("scan centre", "scan processor", "scan processing", "Clean up the scans"),
        ("milling centre", "miller", "milling", "Make and return"),
    ],
)
def test_centres_see_what_waits_and_no_patient(
    sign_in, dentist, laboratory, patient, kind, role, stage, word
):
    centre = make_party(kind, partner_of=dentist.party)
    case = case_at(stage, by=dentist, laboratory=laboratory, patient=patient)
    show_to(case, kind, party=centre)

    shown = page(sign_in(make_member(centre, role)), "board_waiting")

    assert case.code in shown and word in shown and patient.identity.name not in shown
    assert kind == "scan centre" or dentist.party.name not in shown


BOARDS_OF = {
    "dentist": {"board_decide", "board_front_desk"},
    "front_desk": {"board_front_desk"},
    "technician": {"board_make"},
    "lab_lead": {"board_make", "board_load"},
    "practice_admin": set(),
}
ALL_BOARDS = ("board_decide", "board_make", "board_waiting", "board_front_desk", "board_load")


@pytest.mark.parametrize("board", ALL_BOARDS)
@pytest.mark.parametrize("who", BOARDS_OF)
def test_board_opens_to_its_roles_alone(request, sign_in, who, board):
    response = sign_in(request.getfixturevalue(who)).get(reverse(board))

    assert response.status_code == (200 if board in BOARDS_OF[who] else 403)


def test_unknown_sections_and_lists_are_not_there(sign_in, dentist, lab_lead):
    client = sign_in(dentist)
    for address in (
        reverse("board_section", args=["decide", "king"]),
        reverse("board_section", args=["king", "approve"]),
        reverse("board_visits", args=["king", "booked"]),
        reverse("board_visits", args=["try-in", "king"]),
    ):
        assert client.get(address).status_code == 404
    assert client.get(reverse("board_section", args=["make", "design"])).status_code == 403
    assert sign_in(lab_lead).get("/boards/load/king/").status_code == 404


def test_section_goes_on_page_by_page_without_loss(sign_in, dentist, laboratory, settings):
    codes = set()
    for number in range(7):
        promised = date(2026, 5, 1 + number % 3) if number % 2 else None
        codes.add(
            case_at(
                "design approval", by=dentist, laboratory=laboratory, promised_on=promised
            ).code
        )
    from casework.boards import queries

    found, after = [], ""
    for _step in range(10):
        part = queries.section_of(dentist, "approve", after=after, size=2)
        found += [row.code for row in part.rows]
        after = part.further
        if not after:
            break

    assert len(found) == 7 and set(found) == codes
    days = [Summary.objects.get(code=code, party=dentist.party).due_on for code in found]
    known = [day for day in days if day]
    assert known == sorted(known) and days[: len(known)] == known


@pytest.mark.parametrize(
    "after",
    [
        "x",
        "~",
        "2026-13-45~1",
        "2026-05-01~1",
        "2026-05-01T10:00~1",
        "~" + "9" * 40,
        "\u0663~\u0663",
    ],
)
def test_mark_that_cannot_be_read_is_the_beginning(sign_in, case, dentist, after):
    shown = page(sign_in(dentist), "cases", after=after)

    assert case.code in shown


def fill(dentist, laboratory, count):
    """Rows for many cases: copies of one, so that only their number differs."""
    stages = ("planning", "design approval", "try-in", "delivery", "recall", "fabrication")
    for number in range(count):
        case = case_at(stages[number % 6], by=dentist, laboratory=laboratory)
        if number % 3 == 0:
            visit(case, "try-in")


@pytest.mark.parametrize(
    ("who", "name", "args"),
    [
        ("dentist", "board_decide", []),
        ("dentist", "board_mine", []),
        ("dentist", "board_section", ["decide", "approve"]),
        ("front_desk", "board_front_desk", []),
        ("front_desk", "board_visits", ["try-in", "booked"]),
        ("technician", "board_make", []),
        ("lab_lead", "board_load", []),
        ("dentist", "cases", []),
        ("technician", "cases", []),
        ("dentist", "api_cases", []),
    ],
)
def test_page_asks_at_most_twelve_queries_however_many_cases(
    request, sign_in, dentist, laboratory, django_assert_max_num_queries, who, name, args
):
    fill(dentist, laboratory, 24)
    client = sign_in(request.getfixturevalue(who))

    with django_assert_max_num_queries(12):
        response = client.get(reverse(name, args=args))

    assert response.status_code == 200


def test_search_asks_at_most_twelve_queries(
    sign_in, dentist, laboratory, django_assert_max_num_queries
):
    fill(dentist, laboratory, 12)
    client = sign_in(dentist)

    with django_assert_max_num_queries(12):
        assert client.get(reverse("cases"), {"q": "46"}).status_code == 200


def test_cases_of_others_show_nowhere(
    sign_in, dentist, laboratory, other_practice, other_laboratory
):
    patient = make_patient(other_practice, name="Zelda Elsewhere")
    by = make_member(other_practice, "dentist")
    foreign = case_at("design approval", by=by, laboratory=other_laboratory, patient=patient)
    client = sign_in(dentist)

    for name in ("board_decide", "board_mine", "cases", "board_front_desk"):
        assert foreign.code not in page(client, name)
    for text in (foreign.code, "Zelda", other_laboratory.name):
        shown = page(client, "cases", q=text)
        assert f">{foreign.code}<" not in shown and "No case is found" in shown
    assert foreign.code not in str(client.get(reverse("api_cases")).json())
    assert client.get(reverse("api_case", args=[foreign.code])).status_code == 404


def test_wrong_patient_is_left_to_dentists(sign_in, dentist, front_desk, laboratory):
    case = case_at("design", by=dentist, laboratory=laboratory, wrong_patient_at=timezone.now())

    assert case.code in page(sign_in(dentist), "cases")
    assert case.code not in page(sign_in(front_desk), "cases")
    assert "No case is found" in page(sign_in(front_desk), "cases", q=case.code)


@pytest.mark.parametrize("typed", ["O'Brien", "O\u2019Brien", "o\u2018brien", "C-77", "c-77"])
def test_e08_search_finds_the_name_however_the_apostrophe_is_typed(
    sign_in, dentist, laboratory, typed
):
    patients = [
        make_patient(dentist.party, name="O'Brien", chart_number="C-77"),
        make_patient(dentist.party, name="Aoife O\u2019Brien", chart_number="C-77"),
    ]
    cases = [
        case_at("planning", by=dentist, laboratory=laboratory, patient=one) for one in patients
    ]
    case_at("planning", by=dentist, laboratory=laboratory)

    shown = page(sign_in(dentist), "cases", q=typed)

    assert [case.code in shown for case in cases] == [True, True]
    assert shown.count('class="code"') == 2


def test_laboratory_finds_no_case_by_a_patients_name(sign_in, dentist, laboratory, technician):
    patient = make_patient(dentist.party, name="Rarename Person", chart_number="C-99")
    case_at("design", by=dentist, laboratory=laboratory, patient=patient)
    client = sign_in(technician)

    assert "No case is found" in page(client, "cases", q="Rarename")
    assert "No case is found" in page(client, "cases", q="C-99")


def test_case_is_found_by_code_site_and_party(sign_in, dentist, laboratory, technician):
    case = case_at("design", by=dentist, laboratory=laboratory, prescribed={"teeth": ["36"]})
    other = case_at("design", by=dentist, laboratory=laboratory, prescribed={"teeth": ["11"]})
    client = sign_in(technician)

    for text in (case.code, case.code.lower(), case.code[:5], case.code.replace("-", "")):
        assert case.code in page(client, "cases", q=text)
    by_site = page(client, "cases", q="36")
    assert case.code in by_site and other.code not in by_site
    both = page(client, "cases", q=dentist.party.name[:8])
    assert case.code in both and other.code in both


@pytest.mark.parametrize(
    "typed", ["<script>alert(1)</script>", "{{ 7*7 }}", "%' OR 1=1 --", "\x00", "a" * 5000]
)
def test_e03_search_text_is_shown_as_typed_and_does_nothing(sign_in, case, dentist, typed):
    shown = page(sign_in(dentist), "cases", q=typed)

    assert "<script>alert" not in shown and "49" not in shown.split("Found for")[-1][:30]


def test_api_tells_what_the_board_tells(sign_in, dentist, laboratory, technician):
    case = case_at("design", by=dentist, laboratory=laboratory, prescribed={"teeth": ["36"]})
    client = sign_in(technician)

    listed = client.get(reverse("api_cases")).json()
    one = client.get(reverse("api_case", args=[case.code])).json()

    assert [row["code"] for row in listed["cases"]] == [case.code] and listed["further"] == ""
    assert one["teeth"] == ["36"] and one["is_turn"] and one["turn"]["name"] == "design"
    assert one["sentence"].startswith("With the laboratory: ")
    assert Case.objects.get(pk=case.pk).order.patient.identity.name not in str(one)


def test_api_is_closed_to_strangers_and_never_writes(client, sign_in, dentist, case):
    assert client.get(reverse("api_cases")).status_code == 403
    member = sign_in(dentist)
    address = reverse("api_case", args=[case.code])

    assert member.post(reverse("api_cases"), {}).status_code == 405
    for method in (member.patch, member.put, member.delete):
        answer = method(address, {"stage": "closed"}, content_type="application/json")
        assert answer.status_code == 405
    assert Case.objects.get(pk=case.pk).stage == "planning"
