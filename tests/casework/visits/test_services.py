"""How are the visits recorded, and what follows from them?"""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied

from casework.stages import Stage
from casework.visits import queries, services
from orders.records import ChangedMeanwhile
from orders.refusals import Refused
from tests.bench import (
    NOON,
    bring_to_practice,
    make_component,
    make_mesh_file,
    make_offer,
    make_planned_case,
    parts_by_name,
    put_at,
)

pytestmark = pytest.mark.django_db
TODAY = NOON.date()


@pytest.fixture
def here(dentist, laboratory, technician):
    """A case whose parts are at the practice for try-in."""
    case, _parts = make_planned_case(dentist, laboratory, technician)
    bring_to_practice(case, technician)
    return put_at(case, Stage.TRY_IN)


@pytest.fixture
def delivered(here, dentist):
    put_at(here, Stage.DELIVERY)
    services.record_delivery(here, by=dentist, on=TODAY, baseline_reason="none", at=NOON)
    services.plan_follow_ups(here, by=dentist)
    return put_at(here, Stage.RECALL)


def test_try_in_takes_its_number_from_the_dispatch(here, dentist):
    row = services.record_try_in(here, by=dentist, on=TODAY, seated="yes", at=NOON)

    assert (row.number, row.by) == (1, "Dora Dentist")
    places = {name: part.place for name, part in parts_by_name(here).items()}
    assert places["bridge 45 46 47"] == places["try-in screw 45"] == "tried in"
    assert places["retaining screw 45"] == "at practice"


def test_try_in_is_corrected_by_who_saw_its_revision(here, dentist, assistant):
    first = services.record_try_in(here, by=dentist, on=TODAY, seated="yes", at=NOON)
    services.record_try_in(
        here, by=assistant, on=TODAY, bite="yes", seen_revision=first.revision, at=NOON
    )

    with pytest.raises(ChangedMeanwhile):
        services.record_try_in(
            here, by=dentist, on=TODAY, look="yes", seen_revision=first.revision, at=NOON
        )

    row = here.try_ins.get()
    assert (row.seated, row.bite, row.look) == ("yes", "yes", "")


def test_front_desk_and_technician_record_no_try_in(here, front_desk, technician):
    for member in (front_desk, technician):
        with pytest.raises(PermissionDenied):
            services.record_try_in(here, by=member, on=TODAY, at=NOON)


def test_screw_is_recorded_in_two_steps_ten_minutes_apart(here, dentist):
    put_at(here, Stage.DELIVERY)
    first = services.record_screw(
        here, by=dentist, site="45", torque_ncm=Decimal(25), tightened_at=NOON, at=NOON
    )
    assert first.lot == "S45"
    assert "about ten minutes" in services.doubts_after(first)[0]
    later = NOON + timedelta(minutes=11)

    row = services.record_screw(
        here,
        by=dentist,
        site="45",
        second_torque_ncm=Decimal(25),
        second_at=later,
        channel_closed_with="PTFE and composite",
        seen_revision=first.revision,
        at=later,
    )

    assert (row.torque_ncm, row.second_at) == (Decimal(25), later)
    assert services.doubts_after(row) == ()


def test_second_tightening_before_the_first_is_refused(here, dentist):
    put_at(here, Stage.DELIVERY)

    with pytest.raises(Refused, match="after the first"):
        services.record_screw(
            here,
            by=dentist,
            site="45",
            torque_ncm=Decimal(25),
            tightened_at=NOON,
            second_torque_ncm=Decimal(25),
            second_at=NOON - timedelta(minutes=10),
            at=NOON,
        )

    assert not here.screws.exists()


def test_torque_is_held_against_this_very_screw(here, dentist):
    put_at(here, Stage.DELIVERY)
    other = make_component("retaining screw", torque_ncm="35")

    row = services.record_screw(
        here,
        by=dentist,
        site="47",
        component=other,
        lot="Z9",
        torque_ncm=Decimal(25),
        tightened_at=NOON,
        at=NOON,
    )

    said = " ".join(services.doubts_after(row))
    assert "own value is 35" in said and "Lot Z9 is not the one" in said


def test_try_in_screw_is_never_left_in(here, dentist):
    put_at(here, Stage.DELIVERY)

    with pytest.raises(Refused, match="no retaining screw"):
        services.record_screw(
            here, by=dentist, site="45", component=make_component("try-in screw"), at=NOON
        )


def test_baseline_is_a_radiograph_of_this_case(here, dentist):
    put_at(here, Stage.DELIVERY)
    scan = make_mesh_file(here, dentist, role="opposing_arch")
    film = make_mesh_file(here, dentist, role="radiograph")

    with pytest.raises(Refused, match="current radiograph"):
        services.record_delivery(here, by=dentist, on=TODAY, baseline_radiograph=scan, at=NOON)
    row = services.record_delivery(
        here, by=dentist, on=TODAY, baseline_radiograph=film, at=NOON
    )
    assert row.baseline_number == film.number


def test_broken_off_delivery_leaves_no_torque_standing(here, dentist):
    put_at(here, Stage.DELIVERY)
    services.record_screw(
        here, by=dentist, site="45", torque_ncm=Decimal(25), tightened_at=NOON, at=NOON
    )
    services.record_delivery(here, by=dentist, on=TODAY, at=NOON)

    services.clear_delivery(here, by=dentist, reason="Sent back to adjust the contact.")

    here.refresh_from_db()
    assert not here.screws.exists() and queries.delivery_of(here) is None


@pytest.mark.parametrize(
    "move", ["return_to_finish", "return_to_redesign", "rescan_after_try_in"]
)
def test_every_way_back_clears_the_delivery(here, dentist, laboratory, move):
    from casework.handoffs.effects import ON_ARRIVAL

    put_at(here, Stage.DELIVERY)
    services.record_delivery(here, by=dentist, on=TODAY, at=NOON)
    handoff = make_offer(here, dentist, laboratory, move=move)
    handoff.reason = "Contact open."

    ON_ARRIVAL[move](here, handoff, dentist, NOON)

    here.refresh_from_db()
    assert queries.delivery_of(here) is None


def test_follow_ups_are_planned_once_from_the_delivery(delivered, dentist):
    services.plan_follow_ups(delivered, by=dentist)

    assert [(row.name, row.due_on) for row in queries.follow_ups_of(delivered)] == [
        ("48 hours", date(2026, 4, 15)),
        ("1 week", date(2026, 4, 20)),
        ("6 months", date(2026, 10, 13)),
        ("12 months", date(2027, 4, 13)),
    ]


def test_nothing_is_planned_before_a_delivery(here, dentist):
    with pytest.raises(Refused, match="not recorded"):
        services.plan_follow_ups(here, by=dentist)


def test_practice_sets_its_own_template(here, dentist, practice_admin, technician):
    services.change_template(by=practice_admin, steps=[(2, "weeks"), (12, "months")])
    put_at(here, Stage.DELIVERY)
    services.record_delivery(here, by=dentist, on=TODAY, at=NOON)

    planned = services.plan_follow_ups(here, by=dentist)

    assert [row.name for row in planned] == ["2 weeks", "12 months"]
    with pytest.raises(Refused, match="12 months"):
        services.change_template(by=practice_admin, steps=[(2, "weeks")])
    with pytest.raises(PermissionDenied):
        services.change_template(by=technician, steps=[(12, "months")])


def test_follow_up_is_saved_with_its_readings_or_not_at_all(delivered, dentist):
    visit = queries.next_follow_up(delivered)
    later = NOON + timedelta(days=2)
    good = {"site": "45", "quantity": "probing_mm", "direction": "mesial", "value": Decimal(3)}

    with pytest.raises(Refused, match="cannot be"):
        services.record_follow_up(
            visit,
            by=dentist,
            done_on=later.date(),
            outcome="fine",
            readings=[good, good | {"value": Decimal(35)}],
            at=later,
        )
    assert not delivered.readings.exists() and queries.next_follow_up(delivered) == visit

    row = services.record_follow_up(
        visit, by=dentist, done_on=later.date(), outcome="fine", readings=[good], at=later
    )
    assert row.done_by == "Dora Dentist" and delivered.readings.count() == 1
    assert queries.next_follow_up(delivered).name == "1 week"


def test_overdue_visits_surface(delivered):
    assert [row.name for row in queries.overdue_follow_ups(delivered, date(2026, 4, 21))] == [
        "48 hours",
        "1 week",
    ]


def test_complication_is_a_linked_case(delivered, dentist, assistant):
    fresh = services.open_linked_case(delivered, by=dentist, reason="Veneer chipped at 46.")

    assert fresh.order.linked_to == delivered.order
    assert fresh.order.laboratory == delivered.order.laboratory
    assert fresh.stage == Stage.PLANNING
    with pytest.raises(PermissionDenied):
        services.open_linked_case(delivered, by=assistant, reason="Chip.")
    with pytest.raises(Refused, match="what happened"):
        services.open_linked_case(delivered, by=dentist, reason=" ")


def test_name_of_the_patient_stays_out_of_visit_notes(here, dentist):
    with pytest.raises(Refused, match="patient's name"):
        services.record_try_in(here, by=dentist, on=TODAY, note="Quirina is glad.", at=NOON)


def test_the_visit_of_the_day_took_place_however_early_it_is_recorded(here, dentist):
    """The try-in is written down before the hour that was booked is over."""
    visit = here.appointments.create(kind="try-in", at=NOON + timedelta(hours=3), minutes=60)
    other = here.appointments.create(kind="try-in", at=NOON + timedelta(days=2), minutes=60)

    services.record_try_in(here, by=dentist, on=TODAY, seated="yes", at=NOON)

    visit.refresh_from_db()
    other.refresh_from_db()
    assert (visit.state, other.state) == ("done", "booked")
