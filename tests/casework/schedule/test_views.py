"""What do the pages of visits and closing days show, and how do they answer?"""

from datetime import timedelta

import pytest
from django.utils import timezone

from casework.fabrication import services as fabrication
from casework.schedule.models import ClosingDay
from casework.stages import Stage
from casework.templatetags.casework import short_date
from tests.bench import bring_to_practice, make_offer, make_planned_case, put_at

pytestmark = pytest.mark.django_db


@pytest.fixture
def here(dentist, laboratory, technician):
    case, _parts = make_planned_case(dentist, laboratory, technician)
    bring_to_practice(case, technician)
    return put_at(case, Stage.TRY_IN)


def a_working_day():
    day = timezone.now().date() + timedelta(days=7)
    return day + timedelta(days=-day.weekday() % 7)


def told(day, **change):
    return {
        "kind": "try-in",
        "day": day.isoformat(),
        "time": "09:30",
        "minutes": "45",
        "reason": "",
    } | change


def test_front_desk_books_confirms_moves_and_cancels(here, front_desk, sign_in):
    client = sign_in(front_desk)
    url, day = f"/cases/{here.code}/visits/", a_working_day()

    assert "No appointment is booked" in client.get(url).content.decode()
    assert client.post(f"{url}book/", told(day)).status_code == 302
    visit = here.appointments.get()
    assert client.post(f"{url}{visit.pk}/tools/", {"ready": "yes"}).status_code == 302
    assert "Ready." in client.get(url).content.decode()
    moved = told(day + timedelta(days=1), seen_revision=2)
    assert client.post(f"{url}{visit.pk}/move/", moved).status_code == 302
    assert client.post(f"{url}{visit.pk}/end/", {"state": "sold"}).status_code == 409
    assert client.post(f"{url}{visit.pk}/end/", {"state": "cancelled"}).status_code == 302

    visit.refresh_from_db()
    assert visit.at.date() == day + timedelta(days=1) and visit.state == "cancelled"


def test_impossible_times_are_said_beside_the_field(here, front_desk, sign_in):
    client = sign_in(front_desk)
    url, day = f"/cases/{here.code}/visits/book/", a_working_day()

    assert client.post(url, told(day, time="25:00")).status_code == 422
    assert client.post(url, told(day) | {"day": "2026-02-30"}).status_code == 422
    assert client.post(url, told(day, minutes="4,5")).status_code == 422
    late = client.post(url, told(timezone.now().date() - timedelta(days=9)))

    assert late.status_code == 409 and "in the past" in late.content.decode()
    assert not here.appointments.exists()


def test_time_is_that_of_the_practice(here, front_desk, practice, sign_in):
    practice.time_zone = "America/New_York"
    practice.save()
    client, day = sign_in(front_desk), a_working_day()

    client.post(f"/cases/{here.code}/visits/book/", told(day))

    assert "09:30" in client.get(f"/cases/{here.code}/visits/").content.decode()
    assert here.appointments.get().at.hour in (13, 14)


def test_d07_moving_the_arrival_warns_the_practice_alone(
    dentist, laboratory, technician, front_desk, practice, sign_in
):
    case, parts = make_planned_case(dentist, laboratory, technician)
    day, now = a_working_day(), timezone.now()
    parcel = fabrication.pack_parcel(
        case,
        by=technician,
        move="dispatch_for_try_in",
        parts=parts.values(),
        courier="Rider",
        expected_on=day - timedelta(days=3),
    )
    fabrication.send_parcel(
        parcel, handoff=make_offer(case, technician, practice), by=technician, at=now
    )
    client = sign_in(front_desk)
    client.post(f"/cases/{case.code}/visits/book/", told(day))
    url = f"/cases/{case.code}/parcels/{parcel.pk}/expected/"
    later = {"expected_on": (day + timedelta(days=4)).isoformat()}

    warned = client.post(url, later, follow=True).content.decode()
    unwarned = sign_in(technician).post(url, later, follow=True).content.decode()

    said = f"The try-in on {short_date(day)} is before the arrival of the parts"
    assert said in warned and said not in unwarned
    assert said in sign_in(front_desk).get(f"/cases/{case.code}/visits/").content.decode()


def test_administrator_enters_and_takes_out_closing_days(practice_admin, dentist, sign_in):
    client, day = sign_in(practice_admin), a_working_day()

    assert client.post("/closing-days/", {"first": day.isoformat()}).status_code == 302
    assert ClosingDay.objects.get().day == day
    assert day.isoformat() in client.get("/closing-days/").content.decode()
    assert client.post("/closing-days/open/", {"day": "soon"}).status_code == 404
    assert client.post("/closing-days/open/", {"day": day.isoformat()}).status_code == 302
    assert not ClosingDay.objects.exists()
    assert client.post("/closing-days/", {"first": "30.02.2026"}).status_code == 422
    assert sign_in(dentist).get("/closing-days/").status_code == 403


def test_public_holidays_ahead_are_shown_or_said_to_be_unknown(
    practice_admin, practice, sign_in
):
    client = sign_in(practice_admin)
    assert "No public holidays are known" in client.get("/closing-days/").content.decode()

    practice.country = "DE"
    practice.save()

    assert "No public holidays" not in client.get("/closing-days/").content.decode()
