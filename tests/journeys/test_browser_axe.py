"""Does axe-core find on any page what keeps a person from reading or using it?

The rules are those of WCAG 2.2 at the levels A and AA, as axe-core has them.
"""

import re
from collections import Counter
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings as configured
from django.urls import reverse

from casework.cases.models import Case
from tests.access.rows import ROWS
from tests.access.walking import address, client_for
from tests.access.world import build_world
from tests.browsing import HEIGHT, NARROW, SHOTS, WIDE

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
    pytest.mark.xdist_group("browser"),
]
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
EVERY_RULE = {"runOnly": {"type": "tag", "values": WCAG}, "resultTypes": ["violations"]}
# What may differ with the colours alone, at the same width.
COLOURS = {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}}
LOOKS = (
    ("light", WIDE, EVERY_RULE),
    ("dark", WIDE, COLOURS),
    ("dark", NARROW, EVERY_RULE),
    ("light", NARROW, COLOURS),
)
# Pieces that a page asks for, no pages; nothing is there before it is computed.
NO_PAGES = {"case_gate", "design_field", "design_picture"}
# One of each kind of party and of work: pages differ between them.
READERS = ("dentist", "desk", "admin", "technician", "lab_lead", "processor", "miller")


def pages_of(world):
    """(who reads, address, stage) for each page; who has read least so far reads it."""
    read = Counter()
    for name, row in ROWS.items():
        if row.get is None or row.is_public or name in NO_PAGES:
            continue
        may = row.get.split()
        key = min([key for key in READERS if key in may] or may[:1], key=read.__getitem__)
        read[key] += 1
        yield key, address(world, name, row), row.stage


@pytest.fixture
def world(transactional_db, demo_files):
    return build_world(demo_files)


@pytest.fixture
def reader(browser, live_server, world):
    """Gives the page of a browser on which a member, by the key in the world, is signed in."""
    contexts = {}

    def page_of(key):
        if key not in contexts:
            contexts[key] = browser.new_context(
                base_url=live_server.url, reduced_motion="reduce"
            )
            session = client_for(world.members[key]).cookies[configured.SESSION_COOKIE_NAME]
            contexts[key].add_cookies(
                [{"name": session.key, "value": session.value, "url": live_server.url}]
            )
            contexts[key].new_page()
        return contexts[key].pages[0]

    yield page_of
    for context in contexts.values():
        context.close()


def _shot(page, colours, width):
    if SHOTS:
        place = re.sub(r"[^a-z0-9]+", "_", page.url.split("/", 3)[-1].lower()).strip("_")
        Path(SHOTS).mkdir(parents=True, exist_ok=True)
        page.screenshot(
            path=Path(SHOTS) / f"{place or 'start'}-{width}-{colours}.png", full_page=True
        )


def found_by_axe(page):
    """(look, rule, its weight, the elements' text) for what is serious or worse."""
    for place, (colours, width, rules) in enumerate(LOOKS):
        page.emulate_media(color_scheme=colours)
        page.set_viewport_size({"width": width, "height": HEIGHT})
        _shot(page, colours, width)
        # The script stays in the page: the first run brings it, the others find it there.
        axe = Axe(axe_script="0") if place else Axe()
        yield from ((f"{colours} {width}", *found) for found in serious(page, axe, rules))


def serious(page, axe, rules):
    """(rule, its weight, the elements' text) for what is serious or worse."""
    for found in axe.run(page, options=rules).response["violations"]:
        if found["impact"] in ("serious", "critical"):
            yield (
                found["id"],
                found["impact"],
                [row["html"][:200] for row in found["nodes"][:3]],
            )


def test_no_page_has_a_serious_finding(world, reader):
    wrong, stood = [], world.case.stage
    for key, path, stage in pages_of(world):
        Case.objects.filter(pk=world.case.pk).update(stage=stage or stood)
        page = reader(key)
        if "text/html" not in page.request.get(path).headers.get("content-type", ""):
            continue  # a file, or data
        answer = page.goto(path)
        if answer.status != 200:
            wrong.append(f"{key} {path}: {answer.status}")
        wrong += [f"{key} {path}: {found}" for found in found_by_axe(page)]

    assert not wrong, f"{len(wrong)} findings\n" + "\n".join(wrong)


def test_what_a_phone_folds_away_opens_and_closes_by_keyboard(world, reader):
    page = reader("dentist")
    page.set_viewport_size({"width": NARROW, "height": HEIGHT})
    page.goto(reverse("case", args=[world.case.code]))

    for name, link in (("Menu", "Patients"), ("Pages of this case", "Implants")):
        inside = page.get_by_role("link", name=link, exact=True)
        assert inside.count() == 0
        page.get_by_role("button", name=name, exact=True).focus()
        page.keyboard.press("Enter")
        assert inside.is_visible()
        assert list(serious(page, Axe(), EVERY_RULE)) == []
        page.keyboard.press("Escape")
        assert inside.count() == 0


def test_head_and_turn_leave_most_of_a_phones_first_screen_to_the_page(world, reader):
    page = reader("dentist")
    page.set_viewport_size({"width": NARROW, "height": HEIGHT})

    page.goto(reverse("case", args=[world.case.code]))

    assert page.locator("h1").bounding_box()["y"] < HEIGHT / 3
    assert page.locator("header.head").bounding_box()["height"] < 60


def test_planted_faults_are_found(live_server, browser):
    page = browser.new_page(base_url=live_server.url)
    page.goto(reverse("sign_in"))
    page.evaluate("""() => { document.querySelector("main label").remove();
        document.querySelector("main button").style = "background: #999; color: #888"; }""")

    found = {rule for rule, *_more in serious(page, Axe(), EVERY_RULE)}

    assert found == {"label", "color-contrast"}


def test_sign_in_and_what_leads_to_it_have_no_serious_finding(live_server, browser):
    page, wrong = browser.new_page(base_url=live_server.url), []
    for name in ("sign_in", "forgotten", "reset_asked"):
        page.goto(reverse(name))
        wrong += [f"{name}: {found}" for found in found_by_axe(page)]

    assert not wrong, "\n".join(wrong)
