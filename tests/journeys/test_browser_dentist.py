"""Can a dentist carry a case from the patient's page to the sent order, by the pages alone?"""

from datetime import date

import pytest

from casework.cases.models import Case
from casework.demo.works import BRIDGE
from casework.schedule.queries import calendar_of
from tests.browsing import REASON, days_ago

pytestmark = [
    pytest.mark.browser,
    pytest.mark.django_db(transaction=True),
    pytest.mark.xdist_group("browser"),
]


def open_a_case(dentist):
    dentist.press("Patients")
    dentist.type("Find", "Quirina")
    dentist.press("Find")
    dentist.press("Quirina Testperson")
    dentist.press("Open a case")
    dentist.press("Save")
    dentist.reads("The case is open")
    return Case.objects.get()


def record_planning(dentist):
    dentist.press("Implants")
    for site, part in BRIDGE.implants.items():
        dentist.press("Add an implant")
        dentist.type_all(
            {
                "Site": site,
                "Implant of the catalogue": part,
                "Lot": f"LOT{site}7",
                "Placed on": days_ago(120),
                "Placed by": "Olu Surgeon",
                "Soft tissue": "healthy",
                "Height of the healing abutment": "4,0",
            }
        )
        dentist.press("Save")
        dentist.reads("The implant is recorded.")
    dentist.press("Teeth")
    dentist.press("Record the teeth")
    dentist.type("Teeth", "45-47")
    dentist.press("Save")
    dentist.reads("The teeth are recorded.")
    dentist.press("Readings")
    dentist.press("Add readings")
    values = dentist.page.get_by_label("Value")
    for place, value in enumerate(("72", "74", "", "71", "75", "")):
        values.nth(place).fill(value)
    dentist.press("Save all")
    dentist.reads("Readings recorded: 4.")


def get_ready_to_scan(dentist):
    dentist.press("Overview")
    dentist.press("Ready to scan")
    assert dentist.have_it_checked() == 0
    dentist.press("Ready to scan")
    dentist.reads("Ready to scan: the case is at scan capture.")


def send_files(dentist, files):
    today = date.today()
    pictures = [files.radiograph(site, today) for site in BRIDGE.sites]
    pictures += [files.photo(number, today) for number in (1, 2)]
    dentist.press("Files")
    dentist.press("Add files")
    dentist.drop("Files", [*(row.path for row in files.scans), *pictures])
    dentist.press("Send")
    for _place in range(len(files.scans) + len(pictures)):
        dentist.page.locator("#progress li a").nth(_place).wait_for()
    dentist.press("To the files")
    dentist.reads("proposed, not confirmed")


def correct_files(dentist):
    """Two proposals are wrong, the others are taken over in one go."""
    for number, told in (
        ("5", {"What it is": "Second", "Sites": "45, 47", "Taken on": days_ago(0)}),
        ("8", {"What it is": "shade tab", "Sites": "45-47"}),
        ("1", {"Sites": "45, 47", "Taken on": days_ago(0)}),
    ):
        dentist.press(number)
        dentist.type_all(told)
        dentist.press("Confirm")
        dentist.press("Files")
    dentist.type("Those that do not say their day were taken on", days_ago(0))
    dentist.press("All proposals below are right")
    dentist.reads("Confirmed: file")


def record_scan_bodies(dentist):
    dentist.press("Scan bodies")
    for place, site in enumerate(BRIDGE.sites):
        dentist.press(f"Record at {site}")
        dentist.type_all(
            {
                "Lot": f"SB{site}7",
                "Number of uses": "3",
                "Tightened with": "torque wrench",
                "Torque": "5",
                "Placed on": days_ago(0),
                "Seating shown by radiograph": f"file {6 + place}",
            }
        )
        dentist.press("Save")
        dentist.reads("The scan body is recorded.")


def record_bite_and_shade(dentist):
    dentist.press("Bite")
    dentist.press("Record the bite")
    dentist.type_all(
        {
            "Position of the jaws": "maximum intercuspation",
            "What was seated": "scan bodies out, healing abutments in",
            "Teeth support the bite behind the gap": "yes",
            "Taken on": days_ago(0),
        }
    )
    dentist.press("Save")
    dentist.press("Shade")
    dentist.press("Note the shade")
    dentist.type_all(
        {
            "Guide": "Invented guide",
            "Tab of the body": "M1",
            "Tab near the gum": "M2",
            "Tab at the edge": "L3",
            "Light": "daylight lamp",
            "Colour temperature of the light": "5500",
            "Taken before the teeth dried": "yes",
            "Taken on": days_ago(0),
        }
    )
    dentist.press("Save")


def prescribe(dentist, party):
    """The span is typed as a range; what is missing is said while typing."""
    dentist.press("Prescription")
    dentist.press("Write the draft")
    dentist.reads("What is still missing")
    first = dentist.page.locator("tr", has=dentist.page.get_by_label("Row 1: Units"))
    first.get_by_label("Row 1: Units").fill("45-47")
    first.get_by_label("Row 1: Pontics among them").fill("46")
    dentist.type_all(
        {
            "Material of the catalogue": "Invented zirconia, strong",
            "Retention": "cement",
            "Depth of the cement margin": "0.8",
            "Contacts to the neighbours": "usual",
            "Occlusal scheme": "guided by the canine",
            "Grinding habit": "none",
            "Form of the pontic": "modified ridge lap",
            "Emergence": "as the mucosa was formed",
            "Surface": "glazed",
            "The patient was asked: no allergy known": True,
            "Fee or estimate": "as estimated",
        }
    )
    carrier = {"Level": "implant", "Engages": "engaging", "Build": "abutment and restoration"}
    for label, choice in {**carrier, "Abutment": "titanium", "Base": "titanium"}.items():
        dentist.type(f"45: {label}", choice)
    dentist.type("The same choices at every implant for which none are made", True)
    objections = dentist.page.locator("#objections")
    objections.get_by_text("The day the work is wanted").wait_for()
    wanted = calendar_of(party).add_working_days(date.today(), 15)
    dentist.type("Wanted on", wanted.isoformat())
    objections.get_by_text("Nothing is missing").wait_for()
    dentist.press("Save the draft")
    dentist.reads("Nothing is missing, and everything goes together.")


def send_order(dentist, password):
    dentist.press("Overview")
    dentist.press("Send the order to the laboratory")
    dentist.reads("Press check; this is how it looks")
    assert dentist.have_it_checked() > 0
    field = "Your password, entered again"
    dentist.type(field, "not the password")
    dentist.press("Send the order to the laboratory")
    dentist.reads("The password is not yours.")
    wrong = dentist.page.locator(".field.wrong")
    assert "entered again" in wrong.inner_text() and "not yours" in wrong.inner_text()
    dentist.reads(f"gave the reason: {REASON}")
    dentist.type(field, password)
    dentist.press("Send the order to the laboratory")
    dentist.reads("Offered to Bench Four Laboratory (invented).")


@pytest.mark.slow
def test_dentist_sends_an_order_that_was_typed_from_the_first_record_on(
    enter, demo_files, cast
):
    dentist = enter("dentist")
    case = open_a_case(dentist)
    record_planning(dentist)
    get_ready_to_scan(dentist)
    send_files(dentist, demo_files[BRIDGE.key])
    correct_files(dentist)
    record_scan_bodies(dentist)
    record_bite_and_shade(dentist)
    prescribe(dentist, cast.parties["practice"])
    send_order(dentist, cast.password)

    case.refresh_from_db()
    assert case.stage == "scan capture"
    offer = case.handoffs.get(state="offered")
    assert offer.files.count() == 9
    signature = offer.signatures.get()
    assert signature.by_name == "Nora Prescriber" and not signature.voided_at
