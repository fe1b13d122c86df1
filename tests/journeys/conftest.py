"""What does a journey through the browser find ready: a browser, people, and a worker?"""

import os

import pytest
from django.conf import settings as configured

from casework.machine import browser as browser_of_machine
from tests.browsing import Person, Worker


@pytest.fixture
def browser(monkeypatch):
    """A real browser of its own for one test."""
    program = browser_of_machine(configured.BASE / ".local", os.environ)
    if not program:
        sentence = "There is no browser here: install Chromium or name it in CASEWORK_BROWSER."
        if os.environ.get("CASEWORK_REQUIRE_BROWSER", "").lower() not in {"", "0", "no"}:
            pytest.fail(sentence)
        pytest.skip(sentence)
    # The library that drives the browser runs a loop of its own in the test's thread.
    monkeypatch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
    from playwright.sync_api import sync_playwright

    switches = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=program, args=switches)
        yield opened
        opened.close()


@pytest.fixture
def enter(live_server, browser, cast):
    """Lets a member of the cast sign in; from the first on, a worker does the jobs.

    What stands before is told first: two that do jobs would take them from each other.
    """
    people, worker = [], Worker()

    def come(key, **more):
        if not people:
            worker.start()
        person = Person(browser, live_server.url, name=key, **more)
        people.append(person)
        return person.sign_in(cast.members[key].person.email, cast.password)

    yield come
    for person in people:
        person.context.close()
    if people:
        worker.stop()
    troubles = [f"{person.name}: {one}" for person in people for one in person.troubles]
    assert not troubles, "\n".join(troubles)
