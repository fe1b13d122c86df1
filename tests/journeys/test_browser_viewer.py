"""Can a dentist look at the design, fly to what was found, mark a place, and decide?"""

import io
import re

import pytest
from django.contrib.staticfiles import finders
from django.urls import reverse
from PIL import Image, ImageChops, ImageStat

from casework.designs.models import DesignVersion, ReviewMark
from tests.browsing import REASON
from tests.casework.viewer.looking import moved_after_return

pytestmark = [
    pytest.mark.browser,
    pytest.mark.django_db(transaction=True),
    pytest.mark.xdist_group("browser"),
]


@pytest.fixture
def waits(tell):
    """A crown whose design waits for the dentist's decision."""
    if finders.find("viewer.js") is None:
        pytest.skip("Set-up could not build the page's script here.")
    return tell("crown", "submit_design")


def look_at(person, case):
    person.go(reverse("case_look", args=[case.code]))
    person.page.wait_for_selector("[data-look-root][data-state='shown']")


def picture_of(page):
    """The picture as the browser's own screenshot has it."""
    return Image.open(io.BytesIO(page.locator(".look-frame").screenshot())).convert("RGB")


def middle_colour(page):
    shot = picture_of(page)
    return shot.getpixel((shot.width // 2, shot.height // 2))


def difference(one, other):
    """How far two pictures of one size differ, summed over all that they show."""
    return sum(ImageStat.Stat(ImageChops.difference(one, other)).sum)


def place_of(page, pin):
    box = page.locator(".look-pin", has_text=re.compile(f"^{pin}$")).bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def test_a_dentist_sees_marks_and_approves(waits, enter):
    dentist = enter("dentist")
    look_at(dentist, waits.case)
    page = dentist.page

    # A finding's pin is flown to: it comes to the middle of the picture.
    page.get_by_role("button", name="Show the place").first.click()
    page.wait_for_timeout(600)
    frame = page.locator(".look-frame").bounding_box()
    across, down = place_of(page, 1)
    assert across == pytest.approx(frame["x"] + frame["width"] / 2, abs=3)
    assert down == pytest.approx(frame["y"] + frame["height"] / 2, abs=3)

    # A colour by clearance changes what is seen, and its legend counts in millimetres.
    page.get_by_role("button", name="The work").click()
    page.wait_for_timeout(600)
    before = middle_colour(page)
    colours = page.get_by_label("Colour by")
    colours.select_option(label="Clearance to the opposing jaw")
    page.wait_for_selector(".look-legend")
    page.wait_for_timeout(300)
    coloured = middle_colour(page)
    assert coloured != before

    # And back, and there again.
    for label, colour in (("own colour", before), ("Clearance to the opposing jaw", coloured)):
        colours.select_option(label=label)
        page.wait_for_timeout(600)
        assert middle_colour(page) == colour
    assert "in mm" in page.locator(".look-legend").inner_text()

    # A press reads the value there, and two measure a length.
    canvas = page.locator("[data-look='canvas'] canvas")
    middle = {"x": frame["width"] / 2, "y": frame["height"] / 2}
    canvas.click(position=middle)
    assert "Clearance to the opposing jaw" in page.locator(".look-said").inner_text()
    page.get_by_label("measures between two places").check()
    canvas.click(position=middle)
    canvas.click(position={"x": middle["x"] + 40, "y": middle["y"]})
    assert re.search(r"\d\.\d\d mm", page.locator(".look-said").inner_text())

    # A mark is set on the surface, saved, and stands there as a letter.
    page.get_by_label("sets a mark").check()
    canvas.click(position=middle)
    dentist.type("What should be changed", "More room here.")
    dentist.press("Save the mark")
    dentist.reads("The mark is recorded.")
    page.wait_for_selector("[data-look-root][data-state='shown']")
    mark = ReviewMark.objects.get()
    assert len(mark.place_mm) == 3 and mark.part.kind == "crown"
    assert page.locator(".look-pin.mark").inner_text() == "A"

    # The decision is made from here.
    dentist.press("Approve this design version")
    dentist.have_it_checked()
    dentist.type("Your password, entered again", waits.cast.password)
    dentist.press("Approve this design version")
    assert DesignVersion.objects.get().state == "approved"


def test_the_technician_sees_the_marks_at_their_places(waits, enter):
    from casework.designs.services import mark_version

    version = waits.case.designs.get()
    mark_version(
        version,
        by=waits.who("dentist"),
        text=REASON,
        part=version.parts.first(),
        place=place_on(waits),
        facing=[0.0, 0.0, 1.0],
    )
    technician = enter("technician")
    look_at(technician, waits.case)

    technician.reads(REASON)
    technician.page.get_by_role("button", name="Show the place").last.click()
    technician.page.wait_for_timeout(600)
    assert "chosen" in technician.page.locator(".look-pin.mark").get_attribute("class")
    assert not technician.page.get_by_label("sets a mark").count()


def place_on(story):
    from casework.findings.measuring import measured

    done = measured(story.case)[1]
    places = [row["place_mm"] for one in done for row in one.values["results"]]
    return next(place for place in places if place)


def test_the_version_before_comes_in_turns_with_this_one(waits, enter, tmp_path):
    moved_after_return(waits, tmp_path)
    technician = enter("technician")
    technician.page.emulate_media(reduced_motion="reduce")
    look_at(technician, waits.case)
    page = technician.page
    said = page.locator(".look-said")
    box = page.get_by_label("The version before, in turns with this one")
    box.scroll_into_view_if_needed()
    now = picture_of(page)

    box.check()
    page.wait_for_timeout(400)
    assert said.inner_text() == "Shown: the version before."
    before = picture_of(page)

    box.uncheck()
    page.wait_for_timeout(400)
    # The same again, but for the rounding of edges by the place on the screen.
    assert difference(picture_of(page), now) < 0.2 * difference(before, now)

    page.get_by_label("Colour by").select_option(label="Change from the version before")
    page.wait_for_selector(".look-legend")
    page.locator("[data-look='canvas'] canvas").click()
    assert "Change from the version before" in said.inner_text()


def test_by_the_keyboard_alone(waits, enter):
    dentist = enter("dentist")
    look_at(dentist, waits.case)
    page = dentist.page
    canvas = page.locator("[data-look='canvas']")
    shots = [page.locator(".look-frame").screenshot()]

    canvas.focus()
    for key in ("ArrowRight", "ArrowUp", "+"):
        page.keyboard.press(key)
        page.wait_for_timeout(200)
        shots.append(page.locator(".look-frame").screenshot())

    assert len(set(shots)) == 4
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.matches('.look-pin, [data-view]')")


def test_without_webgl_the_same_page_decides(waits, enter):
    dentist = enter("dentist")
    dentist.page.add_init_script("HTMLCanvasElement.prototype.getContext = () => null;")
    dentist.go(reverse("case_look", args=[waits.case.code]))
    dentist.page.wait_for_selector("[data-look-root][data-state='absent']")
    dentist.troubles.clear()  # the library says on the console that there is no WebGL

    dentist.reads("shows no picture that can be turned")
    dentist.page.get_by_text("The same without the picture").click()
    picture = dentist.page.locator(".look-still img").first
    picture.scroll_into_view_if_needed()
    dentist.page.wait_for_function(
        "() => document.querySelector('.look-still img').naturalWidth > 0"
    )
    dentist.press("Approve this design version")
    dentist.reads("What it needs")


def test_fingers_turn_it_and_press_it(waits, enter, browser):
    dentist = enter("dentist")
    context = browser.new_context(
        viewport={"width": 390, "height": 844},
        has_touch=True,
        base_url=dentist.page.url,
        storage_state=dentist.context.storage_state(),
    )
    page = context.new_page()
    page.goto(reverse("case_look", args=[waits.case.code]))
    page.wait_for_selector("[data-look-root][data-state='shown']")
    frame = page.locator(".look-frame")
    frame.scroll_into_view_if_needed()
    box = frame.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    before = frame.screenshot()

    touch(page, [(x, y), (x + 30, y), (x + 80, y)])
    page.wait_for_timeout(500)
    assert frame.screenshot() != before

    page.get_by_label("measures between two places").check()
    frame.scroll_into_view_if_needed()
    box = frame.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    touch(page, [(x, y)])
    touch(page, [(x + 25, y)])
    assert re.search(r"\d\.\d\d mm", page.locator(".look-said").inner_text())
    context.close()


def touch(page, places):
    """One finger put down at the first place, moved over the others, and lifted."""
    fingers = page.context.new_cdp_session(page)
    kinds = ["touchStart"] + ["touchMove"] * (len(places) - 1)
    for kind, (x, y) in zip(kinds, places, strict=True):
        fingers.send(
            "Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y}]}
        )
    fingers.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
