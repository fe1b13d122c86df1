"""Are readings, scan bodies and the bite kept whole or not at all?"""

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied

from casework.readings import services
from casework.readings.models import BiteNote, Reading, ScanBodyUse
from orders.catalogue.models import Component
from orders.implants.models import Implant
from orders.records import ChangedMeanwhile
from orders.refusals import Refused

AT = datetime(2026, 4, 1, 9, tzinfo=UTC)
DAY = date(2026, 3, 20)


def reading(**change):
    return {
        "site": "45",
        "quantity": "stability_quotient",
        "value": Decimal("71"),
        "direction": "mesial",
        "measured_on": DAY,
    } | change


@pytest.fixture
def body(db):
    return Component.objects.create(
        kind="scan body",
        part_number="SB-1",
        name="Scan body",
        connection="cone 4",
        torque_ncm=Decimal("5"),
        source="invented",
    )


def test_several_readings_are_recorded_at_once(case, assistant):
    saved = services.record_readings(
        case,
        by=assistant,
        readings=[reading(), reading(direction="buccal", value=Decimal("74"))],
        at=AT,
    )

    assert len(saved) == 2
    assert Reading.objects.first().measured_by == "Asa Assistant"


def test_one_impossible_row_keeps_all_out(case, assistant):
    with pytest.raises(Refused, match="Row 2: A stability quotient of 710"):
        services.record_readings(
            case, by=assistant, readings=[reading(), reading(value=Decimal("710"))], at=AT
        )

    assert not Reading.objects.exists()


def test_reading_before_the_implant_was_placed_is_refused(case, dentist):
    Implant.objects.create(
        patient=case.order.patient, site="45", placed_on=date(2026, 3, 25), revision=1
    )

    with pytest.raises(Refused, match="before the implant was placed"):
        services.record_readings(case, by=dentist, readings=[reading()], at=AT)


def test_front_desk_and_laboratory_record_no_readings(case, front_desk, technician):
    for member in (front_desk, technician):
        with pytest.raises(PermissionDenied):
            services.record_readings(case, by=member, readings=[reading()], at=AT)


def test_scan_body_is_recorded_once_per_site(case, assistant, body):
    told = {"site": "45", "component": body, "placed_on": DAY, "lot": "S-1", "use_count": 3}
    services.record_scan_body(case, by=assistant, at=AT, **told)

    with pytest.raises(Refused, match="already"):
        services.record_scan_body(case, by=assistant, at=AT, **told)

    assert ScanBodyUse.objects.get().use_count == 3


@pytest.mark.parametrize(
    "change, word",
    [
        ({"placed_on": date(2026, 4, 2)}, "today at the latest"),
        ({"seating_reason": "seen"}, "Name the clinician"),
        ({"torque_ncm": Decimal("5"), "tightened_how": "driver by hand"}, "no torque"),
        ({"tightened_how": "pliers"}, "from the list"),
    ],
)
def test_scan_body_told_wrongly_is_refused(case, assistant, body, change, word):
    told = {"site": "45", "component": body, "placed_on": DAY} | change

    with pytest.raises(Refused, match=word):
        services.record_scan_body(case, by=assistant, at=AT, **told)

    assert not ScanBodyUse.objects.exists()


def test_screw_is_no_scan_body(case, assistant, body):
    body.kind = "retaining screw"

    with pytest.raises(Refused, match="not a scan body"):
        services.record_scan_body(
            case, by=assistant, at=AT, site="45", component=body, placed_on=DAY
        )


def test_d18_bite_note_of_a_stale_tab_is_refused(case, assistant):
    told = {"position": "centric relation", "seated": "healing abutments", "taken_on": DAY}
    services.record_bite(case, by=assistant, at=AT, **told)
    services.record_bite(case, by=assistant, at=AT, seen_revision=1, note="kept")

    with pytest.raises(ChangedMeanwhile):
        services.record_bite(case, by=assistant, at=AT, seen_revision=1, note="lost?")

    assert BiteNote.objects.get().note == "kept"


def test_d18_page_opened_before_there_was_a_note_overwrites_nothing(case, assistant):
    told = {"position": "centric relation", "seated": "nothing", "taken_on": DAY}
    services.record_bite(case, by=assistant, at=AT, seen_revision=0, **told)

    with pytest.raises(ChangedMeanwhile):
        services.record_bite(
            case, by=assistant, at=AT, seen_revision=0, **told | {"seated": "provisional"}
        )

    assert BiteNote.objects.get().seated == "nothing"
