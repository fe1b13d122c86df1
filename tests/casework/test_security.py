"""What does every answer carry, and how is a refusal shown?"""

import re

from django.db import OperationalError
from django.urls import reverse

from casework.cases.models import Case


def test_pages_carry_their_headers(client, db):
    answer = client.get(reverse("sign_in"))

    policy = answer["Content-Security-Policy"]
    nonce = re.search(r"'nonce-([^']+)'", policy).group(1)
    assert "object-src 'none'" in policy and "frame-ancestors 'none'" in policy
    assert f'nonce="{nonce}"' in answer.content.decode()
    assert "unsafe" not in policy
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["X-Frame-Options"] == "DENY"
    assert {"private", "no-store"} <= set(answer["Cache-Control"].split(", "))


def test_a_nonce_is_used_once(client, db):
    first, second = (client.get(reverse("sign_in")) for _turn in range(2))

    assert first["Content-Security-Policy"] != second["Content-Security-Policy"]


def test_a_refusal_nobody_caught_is_a_page_with_its_sentences(case, dentist, sign_in):
    client = sign_in(dentist)
    Case.objects.filter(pk=case.pk).update(wrong_patient_at="2026-01-01T00:00:00Z")

    answer = client.post(reverse("case_wrong_patient", args=[case.code]))

    assert answer.status_code == 409
    assert "withdrawn as wrong patient already" in answer.content.decode()


def test_a_database_that_is_busy_is_said_and_nothing_is_saved(client, db, monkeypatch):
    def busy(*args, **kwargs):
        raise OperationalError("deadlock detected")

    monkeypatch.setattr("orders.parties.services.ask_for_reset", busy)

    answer = client.post(reverse("forgotten"), {"email": "somebody@example.org"})

    assert answer.status_code == 503
    assert "The database was busy" in answer.content.decode()


def test_what_is_refused_is_shown_to_who_is_not_signed_in(client, db):
    answer = client.post(reverse("sign_in"), {"username": "a@example.org", "password": "x"})

    assert answer.status_code == 200 and "do not open an account" in answer.content.decode()
    assert "Sign out" not in answer.content.decode()
