"""Can a technician paste a screenshot into a question, and does the dentist see it?"""

import io

import pytest
from django.contrib.staticfiles import finders
from PIL import Image

from casework.evidence.keeping import opened

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
    pytest.mark.xdist_group("browser"),
]
SHADE = (20, 66, 76)
# A picture comes to the clipboard as it does from a key that takes a screenshot.
TO_CLIPBOARD = """async ([r, g, b]) => {
  const screen = new OffscreenCanvas(400, 300);
  const brush = screen.getContext("2d");
  brush.fillStyle = `rgb(${r} ${g} ${b})`;
  brush.fillRect(0, 0, 400, 300);
  const picture = await screen.convertToBlob({ type: "image/png" });
  await navigator.clipboard.write([new ClipboardItem({ "image/png": picture })]);
}"""
DROP = """(field, [name, type]) => {
  const dataTransfer = new DataTransfer();
  dataTransfer.items.add(new File(["x"], name, { type }));
  const way = { dataTransfer, bubbles: true, cancelable: true };
  field.dispatchEvent(new DragEvent("drop", way));
}"""


def test_screenshot_is_pasted_into_a_question(tell, enter):
    case = tell("crown", "accept_order").case
    technician = enter("technician")
    page, context = technician.page, technician.context
    context.grant_permissions(["clipboard-read", "clipboard-write"])
    technician.go(f"/cases/{case.code}/questions/")
    technician.type("Question", "Is this embrasure open enough?")

    page.evaluate(TO_CLIPBOARD, list(SHADE))
    for number in range(1, 5):
        technician.field("Question").press("ControlOrMeta+v")
        shown = page.get_by_alt_text("Picture ")
        shown.nth(min(number, 3) - 1).wait_for()
    technician.reads("At most 3 pictures are taken; image.png was left out.")
    page.locator("[data-pictures]").evaluate(DROP, ["letter.pdf", "application/pdf"])
    technician.reads("letter.pdf is no PNG or JPEG.")
    technician.press("Remove picture 3")
    assert page.get_by_alt_text("to be sent").count() == 2
    technician.press("Ask")
    technician.reads("The question is asked.")

    question = case.questions.get()
    rows = question.pictures_asked
    assert question.text == "Is this embrasure open enough?" and len(rows) == 2
    with opened(rows[0].storage_key) as stream, Image.open(io.BytesIO(stream.read())) as kept:
        assert kept.size == (400, 300) and kept.convert("RGB").getpixel((9, 9)) == SHADE
    dentist = enter("dentist")
    dentist.go(f"/cases/{case.code}/questions/")
    picture = dentist.page.get_by_alt_text("Picture 1 of question 1")
    picture.wait_for()
    assert picture.evaluate("one => one.decode().then(() => one.naturalWidth)") == 400


def test_what_is_looked_at_is_asked_about(tell, enter):
    if finders.find("viewer.js") is None:
        pytest.skip("Set-up could not build the page's script here.")
    case = tell("crown", "submit_design").case
    dentist = enter("dentist")
    page = dentist.page
    dentist.go(f"/cases/{case.code}/look/")
    page.wait_for_selector("[data-look-root][data-state='shown']")
    frame = page.locator("[data-look='canvas'] canvas").bounding_box()

    dentist.press("Ask about this view")
    page.get_by_alt_text("Picture 1 to be sent").wait_for()
    dentist.type("Question", "Is this contact closed?")
    dentist.press("Ask")
    dentist.reads("The question is asked.")

    question = case.questions.get()
    assert question.about == case.designs.get().subject
    (row,) = question.pictures_asked
    with opened(row.storage_key) as stream, Image.open(io.BytesIO(stream.read())) as kept:
        assert kept.size == (round(frame["width"]), round(frame["height"]))
        # An empty canvas, or one that the browser emptied, is of one colour.
        assert len(kept.convert("RGB").resize((40, 30)).getcolors(1200)) > 50
    # It is offered once.
    dentist.go(f"/cases/{case.code}/questions/")
    assert page.get_by_alt_text("to be sent").count() == 0
