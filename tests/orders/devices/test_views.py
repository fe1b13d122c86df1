"""Do the pages register a computer, lock it, and pass it from person to person?"""

import re

import pytest
from django.test import Client
from django.urls import reverse

from casework.audit.models import Entry
from orders.devices.models import Device, Interruption, Pin
from orders.parties.models import Membership, Party
from tests.factories import PASSWORD, make_member, make_party
from tests.orders.devices.conftest import PIN
from tests.orders.devices.test_middleware import LOCK, enter

pytestmark = pytest.mark.django_db


def token_of(answer):
    return re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', answer.content.decode())[1]


def test_administrator_registers_the_computer_in_front(sign_in, practice_admin):
    client = sign_in(practice_admin)
    form = {"name": "Chair 2", "password": PASSWORD}

    assert client.post(reverse("devices"), form | {"password": "x"}).status_code == 409
    assert client.post(reverse("devices"), {"name": ""}).status_code == 422
    answer = client.post(reverse("devices"), form)

    cookie = answer.cookies["casework_device"]
    assert cookie["httponly"] and cookie["samesite"] == "Lax"
    page = client.get(reverse("devices")).content.decode()
    assert "(this one)" in page and "Lock now" in page and "Switch person" in page
    again = client.post(reverse("devices"), form | {"name": "Chair 3"})
    assert again.status_code == 409 and Device.objects.count() == 1


def test_cookie_keeps_to_https_where_the_service_does(sign_in, practice_admin, settings):
    settings.SESSION_COOKIE_SECURE = True
    client = sign_in(practice_admin)

    answer = client.post(reverse("devices"), {"name": "Chair 2", "password": PASSWORD})

    assert answer.cookies["casework_device"]["secure"]


def test_device_is_listed_and_withdrawn(sign_in, practice_admin, device, other_practice):
    client = sign_in(practice_admin)
    address = reverse("device_withdraw", args=[device.pk])
    stranger = sign_in(make_member(other_practice, "administrator"), on=Client())

    assert stranger.post(address).status_code == 404
    assert "Withdraw Chair 2" in client.get(reverse("devices")).content.decode()
    client.post(address)

    assert "withdrawn" in client.get(reverse("devices")).content.decode()
    assert client.post(address).status_code == 409


def test_administrator_sets_the_time_to_the_lock(sign_in, practice_admin, practice):
    client = sign_in(practice_admin)
    address = reverse("device_lock_time")

    assert client.post(address, {"lock_after_minutes": "0"}).status_code == 422
    assert client.post(address, {"lock_after_minutes": "61"}).status_code == 422
    client.post(address, {"lock_after_minutes": "12"})

    assert Party.objects.get(pk=practice.pk).lock_after_minutes == 12


def test_member_sets_and_takes_away_a_pin(sign_in, dentist):
    client = sign_in(dentist)
    form = {"pin": PIN, "pin_again": PIN, "password": PASSWORD}

    easy = client.post(reverse("pin"), form | {"pin": "1234", "pin_again": "1234"})
    assert easy.status_code == 422 and "run up or down" in easy.content.decode()
    assert client.post(reverse("pin"), form | {"pin_again": "2581"}).status_code == 422
    assert client.post(reverse("pin"), form | {"password": "x"}).status_code == 409
    assert not Pin.objects.exists()
    assert client.post(reverse("pin"), form).status_code == 302
    assert "Choose another PIN" in client.get(reverse("pin")).content.decode()
    client.post(reverse("pin_remove"))
    assert not Pin.objects.exists()


def test_lock_now_and_the_same_person_comes_back_to_the_page(at_chair, dentist, with_pin):
    client = at_chair(with_pin(dentist))
    typed = "note=crown+loose&password=secret"

    client.post(LOCK, {"page": "/cases/?q=a", "action": "/cases/", "typed": typed})
    assert client.get("/cases/")["Location"] == LOCK
    page = client.get(LOCK).content.decode()
    assert "checked" in page and "crown loose" not in page
    before = client.session.session_key
    answer = client.get(enter(client, dentist)["Location"])

    assert answer["Location"] == "/cases/?q=a"
    shown = client.get("/cases/?q=a").content.decode()
    assert "crown loose" in shown and "secret" not in shown
    assert client.session.session_key != before
    assert "crown loose" not in client.get("/profile/").content.decode()
    assert client.post(reverse("device_back"))["Location"] == "/cases/?q=a"
    assert "crown loose" not in client.get("/cases/?q=a").content.decode()


def test_another_person_steps_in_under_another_session(at_chair, dentist, assistant, with_pin):
    client = at_chair(dentist)
    client.get("/profile/")
    before = client.session.session_key
    client.post(LOCK, {"page": "/cases/", "why": "switch"})

    answer = enter(client, with_pin(assistant))
    landed = client.get(answer["Location"])

    assert landed["Location"] == reverse("start")
    assert client.session.session_key != before
    assert not client.session.exists(before)
    page = client.get("/profile/").content.decode()
    assert "Asa Assistant" in page and "Dora Dentist" not in page
    kinds = Entry.objects.filter(kind__startswith="device.").values_list("kind", flat=True)
    assert list(kinds.order_by("seq"))[-2:] == ["device.locked", "device.entered"]


def test_page_of_the_one_before_cannot_be_sent_in_another_name(
    registered, dentist, assistant, with_pin, sign_in, chair
):
    strict = Client(enforce_csrf_checks=True)
    strict.cookies = chair.cookies
    sign_in(dentist, on=strict)
    stale = token_of(strict.get("/profile/"))
    strict.post(LOCK, {"csrfmiddlewaretoken": stale})
    token = token_of(strict.get(LOCK)) if with_pin(assistant) else ""
    strict.post(
        reverse("device_enter"),
        {"member": assistant.pk, "pin": PIN, "csrfmiddlewaretoken": token},
    )

    answer = strict.post("/profile/", {"name": "Dora", "csrfmiddlewaretoken": stale})

    assert answer.status_code == 403
    assistant.person.refresh_from_db()
    assert assistant.person.name == "Asa Assistant"


def test_wrong_pin_is_said_and_opens_nothing(at_chair, dentist, with_pin):
    client = at_chair(with_pin(dentist))
    client.post(LOCK)

    answers = [enter(client, dentist, "9999") for _try in range(5)]

    assert {answer.status_code for answer in answers} == {409}
    texts = [answer.content.decode() for answer in answers]
    assert "4 tries are left" in texts[0] and "One more try" in texts[3]
    assert "not tried any more" in texts[4] and "wrong too often" in texts[4]
    # Not offered any more; asked for all the same, it is refused.
    assert enter(client, dentist).status_code == 422
    assert client.get("/profile/").status_code == 302


def test_password_lets_everybody_in_and_the_pin_counts_again(at_chair, dentist, with_pin):
    client = at_chair(with_pin(dentist))
    client.post(LOCK, {"page": "/cases/"})
    for _try in range(5):
        enter(client, dentist, "9999")
    form = {"username": dentist.person.email, "password": PASSWORD, "next": "/device/back/"}

    assert client.get(reverse("sign_in")).status_code == 200
    answer = client.post(reverse("sign_in"), form, follow=True)

    assert answer.request["PATH_INFO"] == "/cases/" and answer.status_code == 200
    client.post(LOCK)
    assert enter(client, dentist).status_code == 302


def test_wait_after_wrong_passwords_holds_for_the_pin_too(
    at_chair, dentist, with_pin, settings
):
    client = at_chair(with_pin(dentist))
    client.post(LOCK)
    wrong = {"username": dentist.person.email, "password": "wrong"}
    for _try in range(settings.AXES_FAILURE_LIMIT):
        Client(REMOTE_ADDR="192.0.2.1").post(reverse("sign_in"), wrong)

    answer = enter(client, dentist)

    assert answer.status_code == 429 and client.get("/profile/").status_code == 302


def test_pin_does_not_clear_the_count_of_wrong_passwords(at_chair, dentist, with_pin, settings):
    client = at_chair(with_pin(dentist))
    wrong = {"username": dentist.person.email, "password": "wrong"}
    for _try in range(settings.AXES_FAILURE_LIMIT - 1):
        client.post(LOCK)
        client.post(reverse("sign_in"), wrong)
        assert enter(client, dentist).status_code == 302
    client.post(LOCK)

    assert client.post(reverse("sign_in"), wrong).status_code == 429


def test_member_of_another_party_is_locked_too_but_not_let_in_by_pin(
    at_chair, technician, with_pin
):
    client = at_chair(with_pin(technician))
    client.post(LOCK)

    assert enter(client, technician).status_code == 422
    page = client.get(LOCK).content.decode()
    assert "Locked: Timo Bench" in page and "Nobody has set a PIN" in page


def test_who_came_by_pin_acts_for_that_party_alone(at_chair, dentist, assistant, with_pin):
    other = make_party("practice", name="Practice by the Pond")
    elsewhere = Membership.objects.create(
        person=assistant.person, party=other, roles=["dentist"]
    )
    client = at_chair(dentist)
    client.post(LOCK)
    enter(client, with_pin(assistant))

    answer = client.post(reverse("choose_party"), {"membership": elsewhere.pk})

    assert answer.status_code == 404
    assert "Practice by the Pond" not in client.get("/profile/").content.decode()


@pytest.mark.parametrize(
    "page",
    ["//evil.example", "https://evil.example/", "javascript:x", "/device/back/?a=b"],
)
def test_f06_way_back_leads_nowhere_else(at_chair, dentist, with_pin, page):
    client = at_chair(with_pin(dentist))
    client.post(LOCK, {"page": page})

    answer = client.get(enter(client, dentist)["Location"])

    assert answer["Location"] == reverse("start")


def test_odd_words_are_kept_as_they_can_be(at_chair, dentist):
    client = at_chair(dentist)

    answer = client.post(LOCK, {"page": "/\0a", "action": "\0", "typed": "note=a%00b"})

    assert answer.status_code == 302
    assert Interruption.objects.get().typed == [["note", "ab"]]


def test_signing_out_at_a_locked_screen_ends_the_session(at_chair, dentist):
    client = at_chair(dentist)
    client.post(LOCK)

    client.post(reverse("sign_out"))

    assert client.get(LOCK)["Location"].startswith(reverse("sign_in"))


def test_nobody_is_let_in_by_pin_where_no_password_began_the_session(chair, dentist, with_pin):
    with_pin(dentist)

    answer = enter(chair, dentist)

    assert answer["Location"] == reverse("sign_in")
    assert "_auth_user_id" not in chair.session


def test_what_asks_for_the_password_takes_no_pin(at_chair, practice_admin, with_pin):
    client = at_chair(with_pin(practice_admin))
    client.post(LOCK)
    enter(client, practice_admin)
    asked = {
        "pin": {"pin": "1379", "pin_again": "1379", "password": PIN},
        "password": {
            "old": PIN,
            "new": "quite another phrase",
            "again": "quite another phrase",
        },
    }

    answers = {name: client.post(reverse(name), form) for name, form in asked.items()}

    assert {answer.status_code for answer in answers.values()} == {409}
    assert not practice_admin.person.check_password(PIN)
