"""Does a registered computer lock by itself, whatever is asked, and lose nothing by it?"""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from casework.audit.models import Entry
from orders.devices import services
from orders.devices.models import Device, Interruption
from tests.factories import PASSWORD
from tests.orders.devices.conftest import PIN

pytestmark = pytest.mark.django_db

LOCK = "/device/lock/"


def enter(client, member, pin=PIN):
    return client.post(reverse("device_enter"), {"member": member.pk, "pin": pin})


def test_idle_computer_shows_the_locked_screen_whatever_is_asked(at_chair, dentist, leave):
    client = at_chair(dentist)
    assert client.get(reverse("profile")).status_code == 200

    leave(minutes=5)

    for name in ("profile", "cases", "members", "start", "password"):
        answer = client.get(reverse(name))
        assert (answer.status_code, answer["Location"]) == (302, LOCK)
    assert client.get("/no/such/page/")["Location"] == LOCK
    page = client.get(LOCK).content.decode()
    assert "Locked: Dora Dentist" in page and "Chair 2" in page and "Sign out" not in page
    assert Entry.objects.filter(kind="device.locked").count() == 1


def test_before_its_time_it_does_not_lock(at_chair, dentist, leave):
    client = at_chair(dentist)
    client.get("/profile/")

    leave(minutes=4.9)

    assert client.get("/profile/").status_code == 200


def test_party_decides_after_how_long(at_chair, dentist, leave, practice):
    practice.lock_after_minutes = 20
    practice.save()
    client = at_chair(dentist)

    leave(minutes=19)
    assert client.get("/profile/").status_code == 200
    leave(minutes=20)
    assert client.get("/profile/").status_code == 302


def test_computer_that_is_not_registered_never_locks(sign_in, dentist, device, leave):
    client = sign_in(dentist)

    leave(minutes=600)

    assert client.get("/profile/").status_code == 200
    assert "Lock now" not in client.get("/profile/").content.decode()


def test_pieces_of_pages_and_programs_get_401(at_chair, dentist, leave):
    client = at_chair(dentist)
    leave(minutes=6)

    piece = client.get("/profile/", headers={"HX-Request": "true"})
    data = client.get(reverse("api_cases"))
    file = client.get("/profile/", headers={"Sec-Fetch-Mode": "cors"})

    assert (piece.status_code, piece["HX-Redirect"]) == (401, LOCK)
    assert (data.status_code, data.json()) == (401, {"detail": "This screen is locked."})
    assert file.status_code == 401 and b"Dora" not in piece.content + data.content


@pytest.mark.parametrize(
    "headers,counts",
    [
        ({}, True),
        ({"Sec-Fetch-Mode": "navigate"}, True),
        ({"HX-Request": "true"}, False),
        ({"Sec-Fetch-Mode": "cors"}, False),
    ],
)
def test_page_that_reloads_by_itself_is_nobody_at_it(
    at_chair, dentist, device, leave, headers, counts
):
    client = at_chair(dentist)
    leave(minutes=4)
    before = Device.objects.get().seen_at

    client.get("/profile/", headers=headers)

    assert (Device.objects.get().seen_at > before) is counts


def test_page_says_that_somebody_is_at_it(at_chair, dentist, leave):
    client = at_chair(dentist)
    leave(minutes=4)

    assert (
        client.post(reverse("device_here"), headers={"Sec-Fetch-Mode": "cors"}).status_code
        == 204
    )
    assert timezone.now() - Device.objects.get().seen_at < timedelta(minutes=1)
    leave(minutes=6)
    assert (
        client.post(reverse("device_here"), headers={"Sec-Fetch-Mode": "cors"}).status_code
        == 401
    )


def test_post_after_the_lock_is_not_carried_out_and_shown_again(
    at_chair, dentist, with_pin, leave
):
    client = at_chair(with_pin(dentist))
    client.get("/profile/")
    leave(minutes=6)
    typed = {"name": "Dora Newname", "licence_number": "L-77", "csrfmiddlewaretoken": "x"}

    answer = client.post("/profile/", typed, headers={"Referer": "http://testserver/profile/"})

    dentist.person.refresh_from_db()
    assert answer["Location"] == LOCK and dentist.person.name == "Dora Dentist"
    assert "Newname" not in client.get(LOCK).content.decode()
    page = client.get(enter(client, dentist)["Location"], follow=True)
    assert page.request["PATH_INFO"] == "/profile/"
    text = page.content.decode()
    assert "Licence number: L-77" in text and '["name", "Dora Newname"]' in text
    assert '"action": "/profile/"' in text

    client.post("/profile/", typed)
    assert "not saved" not in client.get("/profile/").content.decode()
    dentist.person.refresh_from_db()
    assert dentist.person.name == "Dora Newname"


def test_password_sent_after_the_lock_is_not_kept(at_chair, dentist, leave):
    client = at_chair(dentist)
    leave(minutes=6)
    form = {"old": PASSWORD, "new": "quite another phrase", "again": "quite another phrase"}

    client.post(reverse("password"), form)

    assert Interruption.objects.get().typed == []
    dentist.person.refresh_from_db()
    assert dentist.person.check_password(PASSWORD)


def test_form_with_files_is_not_read_after_the_lock(at_chair, dentist, leave, tmp_path):
    client = at_chair(dentist)
    leave(minutes=6)
    scan = tmp_path / "scan.stl"
    scan.write_bytes(b"x" * 2**20)

    with scan.open("rb") as file:
        answer = client.post("/profile/", {"name": "Dora Newname", "file": file})

    assert answer["Location"] == LOCK and Interruption.objects.get().typed == []


def test_another_member_does_not_get_what_was_typed(
    at_chair, dentist, assistant, with_pin, leave
):
    client = at_chair(with_pin(dentist))
    leave(minutes=6)
    client.post(
        "/profile/", {"name": "Newname"}, headers={"Referer": "http://testserver/profile/"}
    )

    enter(client, with_pin(assistant, "1379"), "1379")
    assert "Newname" not in client.get("/profile/").content.decode()
    client.post(LOCK, {"page": "/notices/"})
    back = enter(client, dentist)
    page = client.get(back["Location"], follow=True)

    assert page.request["PATH_INFO"] == "/profile/" and "Newname" in page.content.decode()


def test_session_is_worth_nothing_without_the_cookie_of_its_computer(at_chair, dentist):
    client = at_chair(dentist)
    client.get("/profile/")
    stolen = Client()
    stolen.cookies["sessionid"] = client.cookies["sessionid"].value

    assert stolen.get("/profile/")["Location"].startswith(reverse("sign_in"))
    assert client.get("/profile/").status_code == 302


def test_lock_does_not_go_away_with_the_cookie(at_chair, dentist, leave):
    client = at_chair(dentist)
    client.get("/profile/")
    leave(minutes=6)
    del client.cookies["casework_device"]

    assert client.get("/profile/")["Location"].startswith(reverse("sign_in"))


def test_withdrawn_computer_ends_its_session(at_chair, dentist, practice_admin, device):
    client = at_chair(dentist)
    client.get("/profile/")

    services.withdraw_device(device, by=practice_admin)

    assert client.get("/profile/")["Location"].startswith(reverse("sign_in"))


@pytest.mark.parametrize("value", ["x", "x:y:z", "", "\u00e9"])
def test_cookie_nobody_signed_is_no_device(sign_in, dentist, device, value):
    client = sign_in(dentist)
    client.cookies["casework_device"] = value

    assert "Lock now" not in client.get("/profile/").content.decode()


def test_member_switched_off_is_signed_out_of_a_locked_screen(at_chair, dentist, leave):
    client = at_chair(dentist)
    leave(minutes=6)
    client.get("/profile/")
    dentist.is_active = False
    dentist.save()

    assert client.get(LOCK)["Location"].startswith(reverse("sign_in"))


def test_session_ends_twelve_hours_after_the_password_whoever_came_by_pin(
    at_chair, dentist, assistant, with_pin, settings
):
    client = at_chair(dentist)
    client.get("/profile/")
    ends_at = client.session.get_expiry_date()
    left = ends_at - timezone.now()
    client.post(LOCK)

    enter(client, with_pin(assistant))

    assert timedelta(hours=11.9) < left <= timedelta(hours=12)
    assert client.session.get_expiry_date() == ends_at
    assert client.session["_auth_user_id"] == str(assistant.person_id)
