"""Has whoever stands at a screen that was left open as few tries as at the page of sign-in?"""

import re
from datetime import timedelta

import pytest
from axes.models import AccessAttempt
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from orders.devices.services import register_device, set_pin
from orders.parties.models import Person
from orders.parties.services import change_password
from orders.refusals import PasswordWrong, TooManyTries
from tests.factories import PASSWORD

pytestmark = pytest.mark.django_db
NEW = "quite another phrase"


def guess(member, times):
    """Wrong passwords where another is to be chosen; returns the last refusal."""
    for _try in range(times):
        with pytest.raises(PasswordWrong) as refused:
            change_password(by=member, old="wrong", new=NEW)
    return refused.value


def sign_in_status(member, address="192.0.2.1"):
    sent = {"username": member.person.email, "password": PASSWORD}
    return Client(REMOTE_ADDR=address).post(reverse("sign_in"), sent).status_code


def test_last_try_says_when_to_try_again_and_the_right_one_waits(settings, dentist):
    last = guess(dentist, settings.AXES_FAILURE_LIMIT - 1)
    assert type(last) is PasswordWrong

    last = guess(dentist, 1)

    # A quarter of an hour, as for signing in.
    assert type(last) is TooManyTries and "enter it again in 15 minutes" in last.sentences[0]
    with pytest.raises(TooManyTries):
        change_password(by=dentist, old=PASSWORD, new=NEW)
    assert Person.objects.get(pk=dentist.person_id).check_password(PASSWORD)


def test_tries_of_every_kind_count_together(settings, practice_admin):
    guess(practice_admin, settings.AXES_FAILURE_LIMIT - 2)
    with pytest.raises(PasswordWrong):
        set_pin(by=practice_admin, password="wrong", pin="481516")

    with pytest.raises(TooManyTries):
        register_device(by=practice_admin, name="Chair 2", password="wrong")


def test_signing_in_waits_with_them_and_they_with_it(settings, dentist, assistant):
    half = settings.AXES_FAILURE_LIMIT // 2
    sent = {"username": dentist.person.email, "password": "wrong"}
    for _try in range(half):
        Client(REMOTE_ADDR="192.0.2.1").post(reverse("sign_in"), sent)

    guess(dentist, half)

    assert sign_in_status(dentist) == 429
    assert sign_in_status(assistant, "192.0.2.7") == 302
    change_password(by=assistant, old=PASSWORD, new=NEW)


def test_others_go_on_however_many_accounts_wait(settings, dentist, assistant, front_desk):
    for member in (dentist, assistant):
        guess(member, settings.AXES_FAILURE_LIMIT)

    change_password(by=front_desk, old=PASSWORD, new=NEW)


def test_waiting_ends_and_is_not_made_longer_by_trying(settings, dentist):
    guess(dentist, settings.AXES_FAILURE_LIMIT)
    earlier = timezone.now() - timedelta(minutes=10)
    AccessAttempt.objects.update(attempt_time=earlier)

    (sentence,) = guess(dentist, 3).sentences
    assert re.search(r"in 5 minutes\.$", sentence)

    AccessAttempt.objects.update(attempt_time=timezone.now() - timedelta(minutes=16))
    change_password(by=dentist, old=PASSWORD, new=NEW)


def test_right_password_begins_the_count_anew(settings, dentist):
    for _time in range(2):
        guess(dentist, settings.AXES_FAILURE_LIMIT - 1)
        change_password(by=dentist, old=PASSWORD, new=PASSWORD)


def test_right_password_at_a_screen_frees_nobody_who_guesses_elsewhere(settings, dentist):
    sent = {"username": dentist.person.email, "password": "wrong"}
    for _try in range(settings.AXES_FAILURE_LIMIT - 1):
        Client(REMOTE_ADDR="192.0.2.1").post(reverse("sign_in"), sent)

    change_password(by=dentist, old=PASSWORD, new=PASSWORD)

    Client(REMOTE_ADDR="192.0.2.1").post(reverse("sign_in"), sent)
    assert sign_in_status(dentist) == 429


def test_nothing_that_was_typed_is_kept_with_a_count(dentist):
    guess(dentist, 1)

    row = AccessAttempt.objects.get()
    assert (row.get_data, row.post_data, row.ip_address) == ("", "", None)


def test_page_says_beside_the_password_when_to_try_again(settings, dentist, sign_in):
    client = sign_in(dentist)
    sent = {"old": "wrong", "new": NEW, "again": NEW}
    for _try in range(settings.AXES_FAILURE_LIMIT):
        answer = client.post(reverse("password"), sent)

    assert answer.status_code == 409
    assert "enter it again in 15 minutes" in answer.text
