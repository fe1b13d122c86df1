"""Do odd requests get an answer that is no error of ours, and does reading change nothing?"""

import json
import re

import pytest
from django.db import connection
from django.urls import reverse

from tests.access.rows import ROWS
from tests.access.tables import digest_of_tables
from tests.access.walking import address, ask, at_stage, client_for

pytestmark = pytest.mark.django_db

ODD = {
    "long": "x" * 70_000,
    "nul": "a\x00b",
    "emoji": "🦷\u202e\ufeff",
    "negative": "-1",
    "huge": "9" * 40,
    "exponent": "1e999",
    "markup": "<script>alert(1)</script>' OR 1=1 --",
    "array": ["1", "x", "-2"],
    "wrong id": "999999999",
    "surrogate": "\ud800".encode("utf-8", "surrogatepass").decode("latin-1"),
    "date": "2025-02-30",
}
_NAME = re.compile(rb'name="([^"]+)"')


def _fields(world):
    """For every row that takes something: the names of what its page and its refusal ask."""
    if hasattr(world, "fields"):
        return world.fields
    world.fields = {}
    for name, row in ROWS.items():
        if row.post is None:
            continue
        client = client_for(world.members[row.post.split()[0]])
        url = address(world, name, row)
        with at_stage(world, row.stage):
            seen = ask(client, "POST", url).body
            if row.get:
                seen += ask(client, "GET", url).body
        names = {one.decode() for one in _NAME.findall(seen)}
        world.fields[name] = names - {"csrfmiddlewaretoken", "viewport"} | {
            "text",
            "do",
            "state",
        }
    return world.fields


def test_forms_are_found(world):
    fields = _fields(world)

    assert {"site", "lot", "component", "seen_revision"} <= fields["case_implant_add"]
    assert {"role", "jaw", "sites"} <= fields["case_files_add"]


@pytest.mark.parametrize(
    "kind",
    [
        pytest.param(kind, marks=() if kind in ("nul", "array") else pytest.mark.slow)
        for kind in ODD
    ],
)
def test_odd_values_are_answered(world, kind):
    wrong, clients, fields = [], {}, _fields(world)
    for name, row in ROWS.items():
        if row.post is None or name == "sign_out":
            continue
        key = row.post.split()[0]
        client = clients.setdefault(key, client_for(world.members[key]))
        url = address(world, name, row)
        data = dict.fromkeys(sorted(fields[name]), ODD[kind])
        if name == "api_move":
            data = json.dumps(data | {"password": ["x"], "source": {"a": 1}})
        with at_stage(world, row.stage):
            try:
                status = ask(client, "POST", url, data).status_code
            except Exception as problem:
                status = f"{type(problem).__name__}: {str(problem)[:200]}"
        if not isinstance(status, int) or status >= 500:
            wrong.append(f"{name}: {status}")

    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize(
    "query",
    [
        "q=%00&after=%00&site=%00&kind=%00&all=%00",
        "after=-1&made_from=-1&replaces=99999999999999999999&over=x&kind=1",
        "q=%ED%A0%80&after=%F0%9F%A6%B7&replaces=%C2%B2&made_from=%D9%A1",
    ],
)
def test_odd_questions_in_the_address_are_answered(world, query):
    wrong, clients = [], {}
    for name, row in ROWS.items():
        if row.get is None:
            continue
        key = row.get.split()[0]
        client = clients.setdefault(key, client_for(world.members[key]))
        try:
            status = ask(client, "GET", f"{address(world, name, row)}?{query}").status_code
        except Exception as problem:
            status = f"{type(problem).__name__}: {str(problem)[:200]}"
        if not isinstance(status, int) or status >= 500:
            wrong.append(f"{name}: {status}")

    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("code", ["%00", "..%2f", "%F0%9F%A6%B7", "x" * 400, "%ED%A0%80"])
def test_odd_codes_do_not_exist(world, code):
    client = client_for(world.members["dentist"])

    for start in ("cases", "api/cases", "patients"):
        assert client.get(f"/{start}/{code}/").status_code == 404


def test_f03_reading_everything_leaves_every_table_as_it_was(world):
    clients = {
        key: client_for(world.members[key]) for key in ("dentist", "technician", "admin")
    }
    before = digest_of_tables(connection)

    for key, client in clients.items():
        for name, row in ROWS.items():
            if row.get and key in row.get.split():
                ask(client, "GET", address(world, name, row), is_kept=True)

    assert digest_of_tables(connection) == before


def test_page_that_does_not_exist_reads_like_one_that_is_not_yours(world):
    client = client_for(world.members["other_dentist"])

    foreign = client.get(reverse("case", args=[world.case.code]))
    unknown = client.get(reverse("case", args=["AAA-0000"]))

    def shape(answer):
        text = re.sub(r'(nonce="|value="|X-CSRFToken": ")[^"]*"', "", answer.content.decode())
        return text.replace(world.case.code, "AAA-0000")

    assert foreign.status_code == unknown.status_code == 404
    assert shape(foreign) == shape(unknown)
