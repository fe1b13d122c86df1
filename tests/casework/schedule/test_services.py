"""How are visits booked, moved and ended, and when can the patient come?"""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.exceptions import PermissionDenied

from casework.fabrication import services as fabrication
from casework.schedule import queries, services
from casework.stages import Stage
from orders.records import ChangedMeanwhile
from orders.refusals import Refused
from tests.bench import bring_to_practice, make_offer, make_planned_case, put_at

pytestmark = pytest.mark.django_db
# Before Easter 2026; 9 and 10 April are a Thursday and a Friday.
NOW = datetime(2026, 4, 7, 8, 0, tzinfo=UTC)
TRY_IN_AT = datetime(2026, 4, 10, 8, 0, tzinfo=UTC)


@pytest.fixture
def planned(dentist, laboratory, technician):
    return make_planned_case(dentist, laboratory, technician)


@pytest.fixture
def on_its_way(planned, technician, practice):
    """The case with its parts in a parcel expected on 9 April."""
    case, parts = planned
    parcel = fabrication.pack_parcel(
        case,
        by=technician,
        move="dispatch_for_try_in",
        parts=parts.values(),
        courier="Rider",
        expected_on=date(2026, 4, 9),
        at=NOW,
    )
    offer = make_offer(case, technician, practice)
    fabrication.send_parcel(parcel, handoff=offer, by=technician, at=NOW)
    return case, parcel


def book(case, by, **fields):
    told = {"kind": "try-in", "starts_at": TRY_IN_AT, "minutes": 45, "at": NOW} | fields
    return services.book_visit(case, by=by, **told)


def test_d07_both_days_warn_when_one_moves(on_its_way, front_desk, technician):
    case, parcel = on_its_way
    visit = book(case, front_desk)
    assert services.visits_before_arrival(case) == ()

    fabrication.expect_parcel(parcel, by=technician, expected_on=date(2026, 4, 14), at=NOW)

    said = "The try-in on 2026-04-10 is before the arrival of the parts on 2026-04-14."
    assert services.visits_before_arrival(case) == (said,)
    assert said in queries.readiness(case)

    services.move_visit(visit, by=front_desk, starts_at=TRY_IN_AT + timedelta(days=5), at=NOW)
    assert services.visits_before_arrival(case) == ()
    with pytest.raises(Refused, match="before the arrival"):
        services.move_visit(visit, by=front_desk, starts_at=TRY_IN_AT, at=NOW)


def test_early_visit_needs_a_reason(planned, front_desk):
    case, _parts = planned

    with pytest.raises(Refused, match="Nobody has said yet"):
        book(case, front_desk)

    assert book(case, front_desk, reason="Patient travels.").reason == "Patient travels."


def test_promised_day_stands_until_a_parcel_is_packed(planned, front_desk):
    case, _parts = planned
    type(case).objects.filter(pk=case.pk).update(promised_on=date(2026, 4, 13))

    with pytest.raises(Refused, match="2026-04-13"):
        book(case, front_desk)


def test_second_press_books_no_second_visit(on_its_way, front_desk):
    case, _parcel = on_its_way
    book(case, front_desk)

    with pytest.raises(Refused, match="booked already for 2026-04-10 08:00"):
        book(case, front_desk)

    assert case.appointments.count() == 1


def test_ready_once_counted_with_tools_screws_and_time(planned, technician, front_desk):
    case, _parts = planned
    bring_to_practice(case, technician)
    put_at(case, Stage.TRY_IN)
    visit = book(case, front_desk, minutes=30)
    assert [words[:15] for words in queries.readiness(case)] == [
        "The appointment",
        "Nobody has conf",
    ]

    services.confirm_tools(visit, by=front_desk)
    services.move_visit(visit, by=front_desk, starts_at=TRY_IN_AT, minutes=45, at=NOW)

    desk = queries.front_desk_of(case)
    assert desk.is_ready and desk.parts_here and desk.visit == visit


def test_final_screw_that_is_not_sealed_is_missed(planned, technician, front_desk):
    case, parts = planned
    bring_to_practice(case, technician)
    put_at(case, Stage.TRY_IN)
    case.work_parts.filter(pk=parts["retaining screw 47"].pk).update(is_sealed=False)

    assert "No sealed final screw is here for ISO 47." in queries.readiness(case)


def test_delivery_asks_for_the_work_and_follow_up_for_time_alone(
    planned, technician, front_desk, dentist
):
    from casework.visits import services as visits

    case, _parts = planned
    bring_to_practice(case, technician)
    put_at(case, Stage.DELIVERY)
    assert queries.kind_due(case) == "delivery"
    visits.record_delivery(case, by=dentist, on=NOW.date(), at=NOW)
    visits.plan_follow_ups(case, by=dentist)
    put_at(case, Stage.RECALL)

    desk = queries.front_desk_of(case)
    assert desk.kind == "48 hours"
    assert desk.not_ready_because == ("No appointment is booked for the visit after 48 hours.",)
    book(case, front_desk, kind="48 hours", minutes=20)
    assert queries.readiness(case) == ()


def test_nothing_is_due_before_parts_are_made(planned):
    case, _parts = planned
    put_at(case, Stage.DESIGN)

    assert queries.front_desk_of(case).kind == "" and queries.readiness(case) == ()


def test_ended_visit_is_ended_once(on_its_way, front_desk):
    case, _parcel = on_its_way
    visit = book(case, front_desk)

    with pytest.raises(Refused, match="still to come"):
        services.end_visit(visit, by=front_desk, state="missed", at=NOW)
    services.end_visit(visit, by=front_desk, state="cancelled", at=NOW)

    with pytest.raises(Refused, match="cancelled already"):
        services.move_visit(visit, by=front_desk, starts_at=TRY_IN_AT, at=NOW)
    assert book(case, front_desk).state == "booked"


def test_visit_moved_from_a_stale_page_is_refused(on_its_way, front_desk):
    case, _parcel = on_its_way
    visit = book(case, front_desk)
    seen = visit.revision
    services.confirm_tools(visit, by=front_desk)

    with pytest.raises(ChangedMeanwhile):
        services.move_visit(
            visit, by=front_desk, starts_at=TRY_IN_AT, seen_revision=seen, at=NOW
        )


def test_visit_ends_with_the_try_in_that_was_recorded(planned, technician, dentist):
    from casework.visits import services as visits

    case, _parts = planned
    bring_to_practice(case, technician)
    put_at(case, Stage.TRY_IN)
    visit = book(case, dentist)

    visits.record_try_in(
        case, by=dentist, on=TRY_IN_AT.date(), at=TRY_IN_AT + timedelta(hours=1)
    )

    visit.refresh_from_db()
    assert visit.state == "done"


def test_booking_is_the_practices(on_its_way, technician):
    with pytest.raises(PermissionDenied):
        book(on_its_way[0], technician)


def test_closing_days_are_the_administrators(practice, practice_admin, front_desk):
    with pytest.raises(PermissionDenied):
        services.close_days(by=front_desk, first=date(2026, 4, 13))

    services.close_days(
        by=practice_admin, first=date(2026, 4, 13), last=date(2026, 4, 15), why="holiday"
    )
    services.close_days(by=practice_admin, first=date(2026, 4, 15))

    assert not queries.is_working_day(practice, date(2026, 4, 14))
    assert queries.add_working_days(practice, date(2026, 4, 10), 1) == date(2026, 4, 16)
    services.open_again(by=practice_admin, day=date(2026, 4, 14))
    assert queries.is_working_day(practice, date(2026, 4, 14))
    with pytest.raises(Refused, match="No closing day"):
        services.open_again(by=practice_admin, day=date(2026, 4, 14))
    with pytest.raises(Refused, match="before the first"):
        services.close_days(by=practice_admin, first=date(2026, 4, 2), last=date(2026, 4, 1))


def test_visit_on_a_closing_day_needs_a_reason(on_its_way, front_desk, practice_admin):
    case, _parcel = on_its_way
    services.close_days(by=practice_admin, first=TRY_IN_AT.date(), why="training")

    with pytest.raises(Refused, match="training"):
        book(case, front_desk)
    assert book(case, front_desk, reason="Dentist comes in.").pk
