"""What do the pages of the visits show, and how do they answer?"""

from datetime import timedelta

import pytest
from django.utils import timezone

from casework.stages import Stage
from casework.visits import services
from tests.bench import bring_to_practice, make_planned_case, put_at

pytestmark = pytest.mark.django_db


@pytest.fixture
def here(dentist, laboratory, technician):
    case, _parts = make_planned_case(dentist, laboratory, technician)
    bring_to_practice(case, technician)
    return put_at(case, Stage.TRY_IN)


@pytest.fixture
def today():
    return timezone.now().date()


def test_try_in_is_recorded_with_the_cautions_in_sight(here, dentist, sign_in, today):
    client = sign_in(dentist)
    url = f"/cases/{here.code}/try-ins/1/"

    assert "throat screen" in client.get(url).content.decode()
    refused = client.post(url, {"on": today.isoformat(), "seated": "no"})
    assert refused.status_code == 409 and "what was found" in refused.content.decode()
    saved = client.post(
        url, {"on": today.isoformat(), "seated": "no", "adjustments": "Contact at 44 eased."}
    )

    assert saved.status_code == 302
    page = client.get(f"/cases/{here.code}/visits/").content.decode()
    assert "Contact at 44 eased." in page
    assert client.get(f"/cases/{here.code}/try-ins/7/").status_code == 404


def test_screw_page_shows_the_own_torque_and_warns(here, dentist, sign_in, today):
    put_at(here, Stage.DELIVERY)
    client = sign_in(dentist)
    url = f"/cases/{here.code}/screws/45/"

    page = client.get(url).content.decode()
    assert "25.0 N·cm" in page and "no value that fits all systems" in page
    told = {
        "was_new": "on",
        "tightened_on": (today - timedelta(days=1)).isoformat(),
        "torque_ncm": "30",
        "first_time": "10:00",
    }
    answer = client.post(url, told, follow=True)

    page = answer.content.decode()
    assert "own value is 25" in page and "about ten minutes" in page
    assert here.screws.get().lot == "S45"
    assert client.get(f"/cases/{here.code}/screws/46/").status_code == 404


def test_screw_times_the_wrong_way_round_are_refused(here, dentist, sign_in, today):
    put_at(here, Stage.DELIVERY)
    told = {
        "tightened_on": (today - timedelta(days=1)).isoformat(),
        "torque_ncm": "25",
        "first_time": "10:00",
        "second_torque_ncm": "25",
        "second_time": "09:50",
    }

    answer = sign_in(dentist).post(f"/cases/{here.code}/screws/45/", told)

    assert answer.status_code == 409 and not here.screws.exists()
    assert "must come after the first" in answer.content.decode()


def test_delivery_and_follow_up_through_the_pages(here, dentist, sign_in, today):
    put_at(here, Stage.DELIVERY)
    client = sign_in(dentist)
    told = {"on": today.isoformat(), "baseline_reason": "none justified", "cement": ""}
    assert client.post(f"/cases/{here.code}/delivery/", told).status_code == 302
    services.plan_follow_ups(here, by=dentist)
    put_at(here, Stage.RECALL)
    visit = here.follow_ups.get(name="48 hours")
    url = f"/cases/{here.code}/follow-ups/{visit.pk}/"

    answer = client.post(
        url,
        {
            "done_on": today.isoformat(),
            "outcome": "complication",
            "note": "Screw at 47 loose.",
            "bite": "yes",
            "probing_mesial_45": "3,5",
            "bleeding_45": "no",
        },
        follow=True,
    )

    page = answer.content.decode()
    assert "Screw at 47 loose." in page and "open a linked case" in page
    assert here.readings.count() == 2
    linked = client.post(f"/cases/{here.code}/linked/", {"reason": "Loose screw at 47."})
    assert linked.status_code == 302 and here.code not in linked.url


def test_practice_changes_its_template_through_the_page(practice_admin, technician, sign_in):
    client = sign_in(practice_admin)
    url = "/follow-up-visits/"
    steps = {"amount_1": "3", "unit_1": "days", "amount_2": "12", "unit_2": "months"}
    units = {f"unit_{line}": "months" for line in range(3, 9)}

    assert client.get(url).status_code == 200
    assert (
        client.post(
            url, {**units, "amount_1": "3", "unit_1": "days", "unit_2": "days"}
        ).status_code
        == 409
    )
    assert client.post(url, units | steps).status_code == 302
    assert practice_admin.party.follow_up_steps.count() == 2
    assert sign_in(technician).get(url).status_code == 403


def test_wrong_role_is_403_and_another_practice_404(
    here, front_desk, technician, other_practice, sign_in
):
    from tests.factories import make_member

    url = f"/cases/{here.code}/visits/"

    assert sign_in(front_desk).get(url).status_code == 200
    assert sign_in(front_desk).get(f"/cases/{here.code}/try-ins/1/").status_code == 403
    assert sign_in(technician).get(url).status_code == 403
    assert sign_in(make_member(other_practice, "dentist")).get(url).status_code == 404
