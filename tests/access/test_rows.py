"""May everybody do what the hand-written rows say, and nothing else?"""

import pytest
from django.urls import reverse

from tests.access.rows import EVERYBODY, ROWS
from tests.access.walking import (
    address,
    all_addresses,
    ask,
    at_stage,
    client_for,
    expected,
)

pytestmark = pytest.mark.django_db


def test_every_address_has_its_row():
    assert set(all_addresses()) == set(ROWS)


def test_every_member_stands_in_the_rows(world):
    assert set(world.members) == set(EVERYBODY.split())


def _data(row, member):
    return {key: member.pk if value == "own" else value for key, value in row.data.items()}


# One of each kind in the fast part; the walk of all the others takes a minute.
_FAST = ("dentist", "desk", "technician", "miller", "other_technician")


@pytest.mark.parametrize(
    "key",
    [
        pytest.param(key, marks=() if key in _FAST else pytest.mark.slow)
        for key in EVERYBODY.split()
    ],
)
def test_member_may_what_the_row_says_and_nothing_else(world, key):
    member, wrong = world.members[key], []
    client = client_for(member)

    for name, row in ROWS.items():
        url = address(world, name, row)
        for method, who in (("GET", row.get), ("POST", row.post)):
            if who is None:
                continue
            with at_stage(world, row.stage):
                try:
                    status = ask(client, method, url, _data(row, member)).status_code
                except Exception as problem:
                    status = f"{type(problem).__name__}: {problem}"
            wanted = expected(row, key, who)
            is_right = (
                status == wanted
                if wanted
                else isinstance(status, int) and status < 500 and status not in (403, 404, 405)
            )
            if not is_right:
                wrong.append(f"{method} {name}: {status}, should be {wanted or 'let in'}")

    assert not wrong, "\n".join(wrong)


def test_nobody_signed_in_gets_to_the_sign_in_page_and_no_further(world):
    client, wrong = client_for(None), []

    for name, row in ROWS.items():
        for method, who in (("GET", row.get), ("POST", row.post)):
            if who is None or row.is_public:
                continue
            answer = ask(client, method, address(world, name, row))
            if name.startswith("api_"):
                is_right = answer.status_code in (401, 403)
            else:
                is_right = answer.status_code == 302 and answer["Location"].startswith(
                    reverse("sign_in")
                )
            if not is_right:
                wrong.append(f"{method} {name}: {answer.status_code}")

    assert not wrong, "\n".join(wrong)


def test_get_of_a_button_is_405_and_changes_nothing(world):
    wrong = []
    for name, row in ROWS.items():
        if row.get is None:
            client = client_for(world.members[row.post.split()[0]])
            status = ask(client, "GET", address(world, name, row)).status_code
            if status != 405:
                wrong.append(f"{name}: {status}")

    assert not wrong, "\n".join(wrong)


def test_f03_post_without_a_token_is_403(world):
    wrong = []
    for name, row in ROWS.items():
        if row.post is None:
            continue
        key = row.post.split()[0]
        client = client_for(world.members[key], enforce_csrf_checks=True)
        with at_stage(world, row.stage):
            data = _data(row, world.members[key])
            answer = ask(client, "POST", address(world, name, row), data)
        if answer.status_code != 403:
            wrong.append(f"{name}: {answer.status_code}")

    assert not wrong, "\n".join(wrong)
