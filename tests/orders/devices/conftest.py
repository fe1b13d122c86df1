"""What do the tests of shared computers find ready: one registered, and people with PINs."""

from datetime import timedelta

import pytest
from django.http import HttpResponse
from django.test import Client
from django.utils import timezone

from orders.devices import services, sessions
from orders.devices.models import Device
from tests.factories import PASSWORD

PIN = "2580"


@pytest.fixture
def registered(practice_admin):
    """The practice's computer at the second chair, and the secret its browser keeps."""
    return services.register_device(by=practice_admin, name="Chair 2", password=PASSWORD)


@pytest.fixture
def device(registered):
    return registered[0]


@pytest.fixture
def chair(registered):
    """The browser at that chair; nobody is signed in."""
    client, answer = Client(), HttpResponse()
    sessions.remember_device(answer, registered[1])
    client.cookies.update(answer.cookies)
    return client


@pytest.fixture
def at_chair(chair, sign_in):
    """Signs a member in there: at_chair(dentist) is the browser with his or her session."""
    return lambda member: sign_in(member, on=chair)


@pytest.fixture
def with_pin():
    def give(member, pin=PIN):
        services.set_pin(by=member, password=PASSWORD, pin=pin)
        return member

    return give


@pytest.fixture
def leave(device):
    """Nobody does anything at the computer for so many minutes."""

    def away(minutes):
        seen_at = timezone.now() - timedelta(minutes=minutes)
        Device.objects.filter(pk=device.pk).update(seen_at=seen_at)

    return away
