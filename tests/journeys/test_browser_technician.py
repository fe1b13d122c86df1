"""Can a laboratory take an order, design it and dispatch the parts, by the pages alone?"""

import shutil
import subprocess
import zipfile
from datetime import date

import pytest

from casework.demo.works import CROWN
from casework.schedule.queries import calendar_of
from tests.browsing import days_ago

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
    pytest.mark.xdist_group("browser"),
]


def in_working_days(party, count):
    return calendar_of(party).add_working_days(date.today(), count).isoformat()


def test_technician_returns_one_order_and_accepts_another_on_condition(
    tell, enter, cast, tmp_path
):
    good = tell("crown", "send_order", patient="one").case
    poor = tell("front", "send_order", patient="two").case
    technician = enter("technician")

    technician.press(poor.code)
    technician.press("Look at what is offered: accept or return")
    technician.page.get_by_text("Return with reasons").click()
    technician.type("Reason 1", "The scan body is not seated: its shoulder stands off.")
    technician.page.get_by_label("needs").first.select_option("patient needed")
    technician.press("Return")
    technician.reads("Returned with your reasons.")
    assert poor.handoffs.get(state="returned").return_reasons.get().needs == "patient needed"

    technician.press("To make")
    technician.press(good.code)
    technician.press("Look at what is offered: accept or return")
    take_everything(technician, good.code, tmp_path)
    technician.have_it_checked("Verify the manifest and check")
    technician.type(
        "Promised to leave your house on", in_working_days(cast.parties["laboratory"], 5)
    )
    technician.type("Accepted on condition that", "Say before milling which shade counts.")
    technician.type("to be met before", "milling")
    technician.press("Accept")
    technician.reads("Accepted. The case is with you.")
    technician.reads("Say before milling which shade counts.")

    good.refresh_from_db()
    assert good.stage == "design" and good.promised_on
    poor.refresh_from_db()
    assert poor.stage == "scan capture"


def take_everything(technician, code, folder):
    """One folder with everything, and its manifest holds."""
    bag = technician.save_download("Download everything handed over", folder)
    with zipfile.ZipFile(bag) as archive:
        archive.extractall(folder / "bag")
    manifest = next((folder / "bag").rglob("manifest-sha256.txt"))
    names = [line.split(maxsplit=1)[1] for line in manifest.read_text().splitlines()]
    assert len([name for name in names if code in name]) == 7
    if program := shutil.which("sha256sum"):
        subprocess.run([program, "-c", manifest.name], cwd=manifest.parent, check=True)


def test_laboratory_designs_makes_and_dispatches_what_the_dentist_approved(
    tell, enter, cast, demo_files
):
    case = tell("crown", "accept_order", patient="one", days_ago=12).case
    technician = enter("technician")
    design(technician, case, demo_files[CROWN.key])
    approve(enter("dentist"), case, cast.password)
    make(technician, case)
    inspect(enter("second"), case)
    dispatch(technician, case)


def design(technician, case, files):
    technician.press(case.code)
    technician.press("Files")
    technician.press("Add files")
    technician.drop("Files", [row.path for row in files.parts])
    technician.press("Send")
    technician.page.locator("#progress li a").wait_for()
    technician.press("To the files")
    technician.press("All proposals below are right")
    technician.press("Design versions")
    technician.press("Start a version")
    technician.press("Add a part that is made")
    technician.type_all(
        {
            "Part": "crown",
            "Teeth": "36",
            "Mesh": "36 (STL)",
            "Material": "Invented zirconia, strong",
        }
    )
    technician.press("Save")
    technician.reads("The part is added.")
    stock = {"base": "N-TB-R", "retaining screw": "N-RS", "try-in screw": "N-TS"}
    for kind, number in stock.items():
        technician.press("Add a stock part")
        technician.type_all({"Part": kind, "Implant site": "36", "Part number": number})
        technician.press("Save")
    technician.press("Write notes")
    technician.type("Notes and questions for the dentist", "Please look at the contacts.")
    technician.press("Save")
    technician.reads("The notes are saved.")
    technician.press("Mark the design ready for approval")
    technician.have_it_checked()
    technician.press("Mark the design ready for approval")
    technician.reads("the case is at design approval")


def approve(dentist, case, password):
    dentist.press(case.code)
    dentist.press("Look at the design")
    dentist.reads("Please look at the contacts.")
    dentist.press("Approve this design version")
    dentist.have_it_checked()
    dentist.type("Your password, entered again", password)
    dentist.press("Approve this design version")
    dentist.reads("the case is at fabrication")


def make(technician, case):
    technician.press("Lots")
    technician.type_all(
        {
            "Material": "Invented zirconia, strong",
            "Lot, as printed": "DISC0007",
            "Form": "disc",
            "Certificate": "C-0007",
        }
    )
    technician.press("Enter the lot")
    technician.reads("The lot is entered.")
    technician.press("To make")
    technician.press(case.code)
    technician.press("Parts and parcels")
    technician.press("Record", near="crown 36")
    technician.type_all(
        {
            "Material lot": "DISC0007",
            "Milling record": "mill 2, run 118",
            "Furnace record": "furnace 1, programme 7",
            "Made by": "Tom Bench",
            "Made on": days_ago(0),
        }
    )
    technician.press("Save")
    technician.reads("The part is recorded.")
    for kind in ("base 36", "retaining screw 36", "try-in screw 36"):
        technician.press("Record", near=kind)
        technician.type("Lot", f"L-{kind[:4].upper()}36")
        if kind.startswith("retaining"):
            technician.type("In its sealed bag", True)
        technician.press("Save")
        technician.reads("The part is recorded.")


def inspect(second, case):
    second.press(case.code)
    second.press("Parts and parcels")
    second.press("Inspect", near="crown 36")
    second.type("The part is", "fit to be dispatched")
    second.type("What was found", "fits, polished")
    second.press("Save")
    second.reads("The inspection is recorded.")


def dispatch(technician, case):
    technician.press("Note as disinfected")
    for box in technician.page.get_by_role("checkbox").all():
        box.check()
    technician.press("Save")
    technician.press("Pack: Dispatch for try-in")
    assert technician.field("crown (36)").is_checked()
    technician.type("Everything in it is cleaned and disinfected, and the label says so", True)
    technician.type("The statement for a custom-made device is enclosed", True)
    technician.type_all({"Courier": "Invented Courier", "Tracking number": "IC-000123"})
    technician.type("Expected there on", in_working_days(case.order.practice, 2))
    technician.press("Save")
    technician.reads("The parcel is packed.")
    technician.press("Send it off: Dispatch for try-in")
    technician.have_it_checked()
    technician.press("Dispatch for try-in")
    technician.reads("Offered to Practice Under the Lime (invented).")
    technician.look_around()
    case.refresh_from_db()
    assert case.stage == "fabrication"
    assert case.handoffs.get(state="offered").parcels.get().lines.count() == 4
