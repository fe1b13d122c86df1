"""Are readings, scan bodies and the bite recorded on their pages?"""

from datetime import date

from django.urls import reverse
from django.utils import timezone

from casework.readings.models import BiteNote, Reading, ScanBodyUse
from orders.catalogue.models import Component
from orders.implants.models import Implant
from tests import factories


def url(name, case, *more):
    return reverse(name, args=[case.code, *more])


def test_readings_are_added_several_at_once(sign_in, assistant, case):
    Implant.objects.create(patient=case.order.patient, site="45", revision=1)
    browser = sign_in(assistant)
    page = browser.get(url("case_readings_add", case))
    assert 'name="row0-site" value="45"' in page.text

    browser.post(
        url("case_readings_add", case),
        {
            "row_count": "3",
            "measured_on": "2026-01-12",
            "measured_by": "Asa",
            "row0-site": "45",
            "row0-quantity": "stability_quotient",
            "row0-value": "71,5",
            "row0-direction": "mesial",
            "row1-site": "45",
            "row1-quantity": "stability_quotient",
            "row1-direction": "buccal",
            "row2-site": "45",
            "row2-quantity": "torque_test_ncm",
            "row2-value": "35",
            "row2-direction": "forward",
            "row2-held": "yes",
        },
    )

    kept = Reading.objects.order_by("pk").values_list("quantity", "value", "held")
    assert [(quantity, float(value), held) for quantity, value, held in kept] == [
        ("stability_quotient", 71.5, None),
        ("torque_test_ncm", 35.0, True),
    ]
    assert "71.50 (1-100)" in browser.get(url("case_readings", case)).text


def test_impossible_reading_is_refused_with_409(sign_in, assistant, case):
    told = {
        "row_count": "1",
        "measured_on": "2026-01-12",
        "measured_by": "Asa",
        "row0-site": "45",
        "row0-quantity": "stability_quotient",
        "row0-value": "710",
        "row0-direction": "mesial",
    }

    answer = sign_in(assistant).post(url("case_readings_add", case), told)

    assert answer.status_code == 409
    assert "between 1 and 100" in answer.text
    assert not Reading.objects.exists()


def test_reading_is_corrected_on_its_page(sign_in, assistant, case):
    row = Reading.objects.create(
        case=case,
        site="45",
        quantity="insertion_torque_ncm",
        value=40,
        measured_on=date(2026, 1, 12),
        measured_by="Asa",
        revision=1,
    )
    browser = sign_in(assistant)
    assert browser.get(url("case_reading", case, row.pk)).status_code == 200

    browser.post(
        url("case_reading", case, row.pk),
        {
            "site": "45",
            "quantity": "insertion_torque_ncm",
            "value": "35",
            "measured_on": "2026-01-12",
            "measured_by": "Asa",
            "seen_revision": "1",
        },
    )

    row.refresh_from_db()
    assert (row.value, row.revision) == (35, 2)


def test_scan_body_is_recorded_at_its_site(sign_in, assistant, case):
    body = Component.objects.create(
        kind="scan body", part_number="SB-1", name="Body", source="invented", torque_ncm=5
    )
    Implant.objects.create(patient=case.order.patient, site="45", revision=1)
    browser = sign_in(assistant)
    assert "45" in browser.get(url("case_scan_bodies", case)).text
    assert "5 N·cm" in browser.get(url("case_scan_body_add", case)).text

    browser.post(
        url("case_scan_body_add", case),
        {"site": "45", "component": body.pk, "placed_on": "2026-01-12", "lot": "S-1"},
    )

    assert ScanBodyUse.objects.get().component == body
    assert "not verified" in browser.get(url("case_scan_bodies", case)).text


def test_bite_is_recorded(sign_in, assistant, case):
    sign_in(assistant).post(
        url("case_bite_edit", case),
        {
            "position": "maximum intercuspation",
            "seated": "healing abutments",
            "support_behind": "no",
            "taken_on": "2026-01-12",
        },
    )

    note = BiteNote.objects.get()
    assert (note.support_behind, note.jaws_aligned) == (False, False)


def test_next_case_of_the_practice_starts_with_how_the_last_was_done(
    sign_in, assistant, dentist, case, laboratory
):
    body = Component.objects.create(
        kind="scan body", part_number="SB-1", name="Body", source="invented"
    )
    browser = sign_in(assistant)
    for address, told in (
        ("case_bite_edit", {"position": "centric relation", "seated": "the provisional"}),
        (
            "case_scan_body_add",
            {
                "site": "45",
                "component": body.pk,
                "lot": "S-1",
                "placed_on": "2026-01-12",
                "tightened_how": "driver by hand",
            },
        ),
    ):
        browser.post(url(address, case), told | {"taken_on": "2026-01-12"})
    other = factories.make_case(dentist, laboratory=laboratory)

    bite = browser.get(url("case_bite_edit", other)).text
    seat = browser.get(url("case_scan_body_add", other)).text

    assert 'value="centric relation" selected' in bite and 'value="the provisional"' in bite
    assert 'value="driver by hand" selected' in seat and "S-1" not in seat


def test_radiograph_of_the_site_is_proposed_where_there_is_one(sign_in, assistant, case):
    rows = [
        case.evidence.create(
            number=number,
            role="radiograph",
            sites=[site],
            party=assistant.party,
            received_by=assistant,
            received_at=timezone.now(),
            sha256=str(number) * 64,
            size_bytes=1,
            state="readable",
        )
        for number, site in ((1, "45"), (2, "47"))
    ]
    Implant.objects.create(patient=case.order.patient, site="47", revision=1)

    page = sign_in(assistant).get(url("case_scan_body_add", case)).text

    assert f'<option value="{rows[1].pk}" selected>' in page
