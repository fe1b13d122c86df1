"""How does a parcel travel, and what becomes of the parts in it?"""

from datetime import date

import pytest
from django.core.exceptions import PermissionDenied

from casework.audit.models import Entry
from casework.fabrication import services
from casework.stages import Stage
from orders.refusals import Refused
from tests.bench import (
    NOON,
    bring_to_practice,
    make_offer,
    make_planned_case,
    parts_by_name,
    put_at,
)

pytestmark = pytest.mark.django_db
TRY_IN = "dispatch_for_try_in"
EXPECTED = date(2026, 4, 15)


@pytest.fixture
def planned(dentist, laboratory, technician):
    return make_planned_case(dentist, laboratory, technician)


def pack(case, by, parts, **fields):
    told = {"move": TRY_IN, "courier": "Rider", "expected_on": EXPECTED, "at": NOON} | fields
    return services.pack_parcel(case, by=by, parts=parts, **told)


def send(case, by, parts, to_party, **fields):
    parcel = pack(case, by, parts, **fields)
    offer = make_offer(case, by, to_party, move=parcel.move)
    services.send_parcel(parcel, handoff=offer, by=by, at=NOON)
    return parcel


def count(parcel, by, **words):
    """Count a parcel; parts not named are there and sound."""
    lines = [
        (
            line.part,
            words.get(line.part.kind) != "missing",
            words.get(line.part.kind) not in ("missing", "damaged"),
        )
        for line in parcel.lines.select_related("part")
    ]
    return services.count_parcel(parcel, by=by, lines=lines, at=NOON)


def test_packing_again_changes_the_parcel_until_it_is_sent(planned, technician):
    case, parts = planned
    first = pack(case, technician, [parts["base 45"]])

    second = pack(case, technician, list(parts.values()), courier="Coach")

    assert second.pk == first.pk and second.courier == "Coach"
    assert second.lines.count() == len(parts)
    assert case.parcels.count() == 1


def test_sent_parts_are_on_the_way_and_cannot_be_packed_twice(planned, technician, practice):
    case, parts = planned
    parcel = send(case, technician, [parts["base 45"]], practice)

    assert (parcel.state, parcel.sent_at) == ("on the way", NOON)
    assert parts_by_name(case)["base 45"].place == "on the way"
    with pytest.raises(Refused, match="offered to Practice"):
        pack(case, technician, [parts["base 47"]])


def test_counting_puts_each_part_where_it_is(planned, technician, practice, front_desk):
    case, parts = planned
    parcel = send(case, technician, list(parts.values()), practice)

    counted = count(parcel, front_desk, base="damaged", bridge="missing")

    places = {name: part.place for name, part in parts_by_name(case).items()}
    assert counted.state == "damaged" and counted.counted_by == front_desk
    assert places["bridge 45 46 47"] == "lost"
    assert places["base 45"] == "damaged"
    assert places["retaining screw 45"] == "at practice"


def test_count_names_every_part_and_is_the_receivers(planned, technician, practice, front_desk):
    case, parts = planned
    parcel = send(case, technician, [parts["base 45"], parts["base 47"]], practice)

    with pytest.raises(Refused, match="every part"):
        services.count_parcel(
            parcel, by=front_desk, lines=[(parts["base 45"], True, True)], at=NOON
        )
    with pytest.raises(PermissionDenied):
        count(parcel, technician)
    assert parts_by_name(case)["base 45"].place == "on the way"


def test_count_is_corrected_only_while_the_offer_is_open(
    planned, technician, practice, front_desk
):
    case, parts = planned
    parcel = send(case, technician, [parts["base 45"]], practice)
    count(parcel, front_desk, base="damaged")

    assert count(parcel, front_desk).state == "arrived"

    case.handoffs.update(state="accepted")
    with pytest.raises(Refused, match="cannot be counted"):
        count(parcel, front_desk)


def test_lost_parcel_leads_to_parts_made_anew(planned, technician, practice, front_desk):
    case, parts = planned
    parcel = send(case, technician, [parts["bridge 45 46 47"]], practice)

    with pytest.raises(Refused, match="what is known"):
        services.report_lost(parcel, by=front_desk, note=" ", at=NOON)
    services.report_lost(parcel, by=front_desk, note="Courier cannot find it.", at=NOON)
    case.handoffs.update(state="returned")
    lost = parts_by_name(case)["bridge 45 46 47"]
    fresh = services.remake_part(lost, by=technician, reason="Lost on the way.")

    assert lost.place == "lost" and fresh.place == "at laboratory"
    assert pack(case, technician, [fresh]).lines.count() == 1
    assert Entry.objects.filter(kind="parcel.lost", case=case.code).count() == 1


def test_withdrawn_parcel_is_taken_back(planned, technician, practice):
    case, parts = planned
    parcel = send(case, technician, [parts["base 45"]], practice)

    with pytest.raises(Refused, match="Withdraw the offer first"):
        services.take_back_parcel(parcel, by=technician, reason="Wrong bag.", at=NOON)
    case.handoffs.update(state="withdrawn")
    taken = services.take_back_parcel(parcel, by=technician, reason="Wrong bag.", at=NOON)

    assert taken.state == "taken back"
    assert parts_by_name(case)["base 45"].place == "at laboratory"


def test_work_goes_back_with_what_travels_and_is_inspected_again(
    planned, technician, dentist, laboratory
):
    case, parts = planned
    for part in parts.values():
        part.inspected_by, part.inspected_on, part.disinfected_on = (
            technician,
            EXPECTED,
            EXPECTED,
        )
        part.save()
    bring_to_practice(case, technician)
    put_at(case, Stage.TRY_IN)
    parts = parts_by_name(case)
    parcel = send(
        case,
        dentist,
        [parts["bridge 45 46 47"]],
        laboratory,
        move="return_to_finish",
        disinfected=True,
    )

    services.count_parcel(
        parcel, by=technician, lines=[(parts["bridge 45 46 47"], True, True)], at=NOON
    )

    after = parts_by_name(case)
    assert after["bridge 45 46 47"].place == "at laboratory"
    assert after["bridge 45 46 47"].inspected_on is None
    assert after["base 45"].place == "at practice"
    assert after["base 45"].inspected_on == EXPECTED


def test_parcel_fits_a_move_of_the_stage_and_the_side_whose_turn_it_is(
    planned, technician, front_desk
):
    case, parts = planned

    with pytest.raises(Refused, match="no parcel goes"):
        pack(case, technician, [parts["base 45"]], move="submit_design")
    with pytest.raises(Refused, match="no parcel goes"):
        pack(case, technician, [parts["base 45"]], move="return_to_finish")
    with pytest.raises(PermissionDenied):
        pack(case, front_desk, [parts["base 45"]])


def test_arrival_is_moved_by_either_end(planned, technician, practice, front_desk):
    case, parts = planned
    parcel = send(case, technician, [parts["base 45"]], practice)

    services.expect_parcel(parcel, by=front_desk, expected_on=date(2026, 4, 17), at=NOON)
    moved = services.expect_parcel(
        parcel, by=technician, expected_on=date(2026, 4, 16), at=NOON
    )

    assert moved.expected_on == date(2026, 4, 16)
    with pytest.raises(Refused, match="from today on"):
        services.expect_parcel(parcel, by=technician, expected_on=date(2026, 4, 1), at=NOON)


def test_parts_are_disinfected_in_hand_only(planned, technician, practice):
    case, parts = planned
    services.disinfect_parts(case, by=technician, parts=[parts["base 47"]], at=NOON)
    send(case, technician, [parts["base 45"]], practice)

    with pytest.raises(Refused, match="not in your hands"):
        services.disinfect_parts(case, by=technician, parts=[parts["base 45"]], at=NOON)
    assert parts_by_name(case)["base 47"].disinfected_on == NOON.date()
