"""Does a PIN let the right people in, end after five wrong ones, and is all of it recorded?"""

import json
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connection, connections
from django.utils import timezone

from casework.audit.kinds import KINDS
from casework.audit.models import Entry
from casework.audit.queries import first_break
from orders.devices import services
from orders.devices.models import Device, Interruption, Pin, PinTries
from orders.devices.queries import interruption_of, members_by_pin
from orders.devices.services import PinWrong
from orders.jobs.models import Job
from orders.jobs.services import claim
from orders.parties.models import Membership, Person
from orders.parties.services import change_password
from orders.refusals import PasswordWrong, Refused
from tests.factories import PASSWORD, make_member
from tests.orders.devices.conftest import PIN

pytestmark = pytest.mark.django_db


def said(kind):
    """What the trail says of each event of the kind."""
    entries = Entry.objects.filter(kind=kind).order_by("seq")
    return [KINDS[kind].format(**json.loads(entry.text)["facts"]) for entry in entries]


def test_registering_keeps_only_a_digest_of_256_random_bits(registered, practice_admin):
    device, secret = registered
    other, other_secret = services.register_device(
        by=practice_admin, name="Front desk", password=PASSWORD
    )

    assert len(secret) * 6 >= 256 and secret != other_secret
    assert secret not in repr(Device.objects.values_list())
    assert services.device_of_secret(secret) == device
    assert services.device_of_secret(secret + "x") is None
    assert said("device.registered")[0].endswith("registered the shared computer Chair 2")


def test_registering_asks_for_administrator_password_and_another_name(device, dentist):
    admin = device.registered_by
    with pytest.raises(PermissionDenied):
        services.register_device(by=dentist, name="Chair 3", password=PASSWORD)
    with pytest.raises(PasswordWrong):
        services.register_device(by=admin, name="Chair 3", password="wrong")
    with pytest.raises(Refused, match="called Chair 2"):
        services.register_device(by=admin, name="Chair 2", password=PASSWORD)

    assert Device.objects.count() == 1


def test_withdrawn_device_is_none_any_more(registered, practice_admin, other_practice):
    device, secret = registered
    stranger = make_member(other_practice, "administrator")
    with pytest.raises(PermissionDenied):
        services.withdraw_device(device, by=stranger)

    services.withdraw_device(device, by=practice_admin)

    assert services.device_of_secret(secret) is None
    assert "withdrew the shared computer Chair 2" in said("device.withdrawn")[0]
    with pytest.raises(Refused):
        services.withdraw_device(device, by=practice_admin)


def test_pin_is_hashed_and_asks_for_the_password(dentist):
    with pytest.raises(PasswordWrong):
        services.set_pin(by=dentist, password="wrong", pin=PIN)
    with pytest.raises(Refused):
        services.set_pin(by=dentist, password=PASSWORD, pin="1234")
    assert not Pin.objects.exists()

    services.set_pin(by=dentist, password=PASSWORD, pin=PIN)

    assert PIN not in Pin.objects.get().encoded
    assert "set a PIN for Dora Dentist" in said("pin.set")[0]
    services.remove_pin(by=dentist)
    assert not Pin.objects.exists() and len(said("pin.removed")) == 1


def test_right_pin_unlocks_and_is_recorded(device, dentist, assistant, with_pin):
    services.lock_device(device, by=dentist, why="by hand", page="/")
    at = timezone.now() + timedelta(minutes=3)

    services.enter_by_pin(device, with_pin(assistant), pin=PIN, after=dentist, at=at)

    device.refresh_from_db()
    assert (device.locked_at, device.seen_at) == (None, at)
    entry = Entry.objects.get(kind="device.entered")
    assert entry.actor_name == "Asa Assistant" and '"after":"Dora Dentist"' in entry.text
    assert "Chair 2 was locked: by hand" in said("device.locked")[0]
    assert first_break() is None


def test_five_wrong_pins_end_it_until_the_password(device, dentist, assistant, with_pin):
    with_pin(dentist), with_pin(assistant)
    for _try in range(5):
        with pytest.raises(PinWrong):
            services.enter_by_pin(device, dentist, pin="9999")

    with pytest.raises(PinWrong, match="wrong 5 times"):
        services.enter_by_pin(device, dentist, pin=PIN)
    services.enter_by_pin(device, assistant, pin=PIN)
    assert members_by_pin(device) == ([assistant], [dentist])
    assert len(said("device.pin_wrong")) == 5
    assert said("device.pin_wrong")[-1].endswith("for Dora Dentist at Chair 2, number 5")

    services.enter_by_password(device, dentist.person)
    services.enter_by_pin(device, dentist, pin=PIN)


def test_tries_are_counted_at_each_device_by_itself(device, dentist, practice_admin, with_pin):
    other, _secret = services.register_device(
        by=practice_admin, name="Chair 3", password=PASSWORD
    )
    with_pin(dentist)
    for _try in range(5):
        with pytest.raises(PinWrong):
            services.enter_by_pin(device, dentist, pin="9999")

    services.enter_by_pin(other, dentist, pin=PIN)


def test_right_pin_starts_the_count_anew(device, dentist, with_pin):
    with_pin(dentist)
    for _round in range(3):
        for _try in range(4):
            with pytest.raises(PinWrong):
                services.enter_by_pin(device, dentist, pin="9999")
        services.enter_by_pin(device, dentist, pin=PIN)

    assert not PinTries.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_tries_at_once_are_no_more_than_five(device, dentist, with_pin):
    with_pin(dentist)

    def try_once(_number):
        try:
            services.enter_by_pin(device, dentist, pin="9999")
        except PinWrong as refused:
            return str(refused)
        finally:
            connections.close_all()

    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(try_once, range(20)))

    assert len([one for one in answers if "wrong 5 times" in one]) == 15
    assert len(said("device.pin_wrong")) == 5
    connection.close()


def test_pin_counts_at_devices_of_its_own_party_only(device, technician, with_pin):
    with_pin(technician)

    with pytest.raises(PinWrong):
        services.enter_by_pin(device, technician, pin=PIN)
    assert members_by_pin(device) == ([], [])


@pytest.mark.parametrize("why", ["no pin", "switched off", "suspended", "other password"])
def test_who_may_not_come_in_does_not_by_pin(device, dentist, with_pin, why):
    if why != "no pin":
        with_pin(dentist)
    if why == "switched off":
        Membership.objects.filter(pk=dentist.pk).update(is_active=False)
    if why == "suspended":
        Person.objects.filter(pk=dentist.person_id).update(is_active=False)
    if why == "other password":
        change_password(by=dentist, old=PASSWORD, new="quite another phrase")

    with pytest.raises(PinWrong, match="no PIN of yours"):
        services.enter_by_pin(device, dentist, pin=PIN)
    assert members_by_pin(device) == ([], [])


def test_lock_is_recorded_once_and_its_time_stays(device, dentist):
    at = timezone.now()
    for minutes in range(3):
        services.lock_device(
            device, by=dentist, why="by hand", page="/", at=at + timedelta(minutes=minutes)
        )

    device.refresh_from_db()
    assert device.locked_at == at and len(said("device.locked")) == 1


def test_locked_device_is_not_noted_as_used(device, dentist):
    at = device.seen_at + timedelta(minutes=1)
    services.note_use(device, at=at)
    device.refresh_from_db()
    assert device.seen_at == at

    services.lock_device(device, by=dentist, why="by hand", page="/")
    services.note_use(device, at=at + timedelta(minutes=2))

    device.refresh_from_db()
    assert device.seen_at == at and device.locked_at


def test_what_was_typed_is_kept_by_member_for_twelve_hours(device, dentist, assistant):
    at = timezone.now()
    typed = {"page": "/a/", "action": "/a/", "pairs": [("note", "crown loose")], "at": at}
    services.lock_device(device, by=dentist, why="by hand", page="/a/", at=at)
    services.keep_typed(device, by=dentist, **typed)

    kept = interruption_of(device, dentist, at)
    assert (kept.page, kept.typed) == ("/a/", [["note", "crown loose"]])
    assert interruption_of(device, assistant, at) is None
    assert interruption_of(device, dentist, at + timedelta(hours=12)) is None


def test_what_nobody_came_back_for_is_gone_after_twelve_hours(device, dentist, run_jobs):
    typed = {"page": "/a/", "action": "/a/", "pairs": [("note", "crown loose")]}
    hours_ago = [timezone.now() - timedelta(hours=hours) for hours in (13, 11)]
    services.keep_typed(device, by=dentist, **typed, at=hours_ago[0])
    services.keep_typed(device, by=dentist, **typed, at=hours_ago[1])

    run_jobs()
    assert Interruption.objects.get().at == hours_ago[1]
    job = Job.objects.get(state="waiting")
    assert job.due_at == hours_ago[1] + timedelta(hours=12)

    services.forget_typed(job.subject_id, claim(job.pk, at=job.due_at), at=job.due_at)
    assert not Interruption.objects.exists()


def test_second_lock_on_the_same_page_loses_nothing_typed(device, dentist):
    at = timezone.now()
    services.keep_typed(
        device, by=dentist, page="/a/", action="/a/", pairs=[("note", "x")], at=at
    )

    services.lock_device(device, by=dentist, why="by hand", page="/a/", at=at)
    assert interruption_of(device, dentist, at).typed == [["note", "x"]]

    services.enter_by_password(device, dentist.person)
    services.lock_device(device, by=dentist, why="by hand", page="/b/", at=at)
    assert interruption_of(device, dentist, at).typed == []
