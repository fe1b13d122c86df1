"""Can a practice book, receive, try in, deliver and follow up, by the pages alone?"""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from casework.schedule.queries import calendar_of
from casework.visits.rules import TRY_IN_QUESTIONS
from tests.browsing import NARROW, days_ago

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
    pytest.mark.xdist_group("browser"),
]


def test_patient_comes_for_try_in_and_delivery_once_the_parts_are_here(tell, enter, cast):
    case = tell("crown", "dispatch", patient="one", days_ago=14).case
    seen = tell("crown", "deliver", patient="two", days_ago=23).case
    desk = enter("desk")

    book(desk, case, cast.parties["practice"])
    phone = enter("desk", width=NARROW)
    receive(phone, case)
    desk.press("Who can come")
    row = desk.table(case.code)
    assert "Ready" in row and "10:30" in row

    dentist = enter("dentist")
    try_in(dentist, case)
    deliver(dentist, case)
    dentist.look_around()
    desk.press("Who can come")
    desk.reads("Who is due for recall?", "48 hours")
    assistant = enter("assistant")
    follow_up(assistant, seen)

    case.refresh_from_db()
    assert case.stage == "recall"
    assert case.follow_ups.count() == 4
    assert seen.follow_ups.exclude(done_on=None).count() == 1


def book(desk, case, practice):
    """Nobody can come yet, and the page says why; the visit is booked nevertheless."""
    desk.reads("Who can come for try-in?", "To receive")
    row = desk.table("book it")
    assert "Not counted here: crown (36)" in row
    assert "No appointment is booked for the try-in." in row
    desk.press("book it")
    desk.press("Book a visit")
    day = calendar_of(practice).add_working_days(date.today(), 2)
    desk.type_all({"For": "try-in", "Day": day.isoformat(), "Time": "10:30", "Minutes": "60"})
    desk.press("Save")
    desk.reads("The visit is booked.")
    desk.press("Driver and torque wrench are here")
    desk.reads("Noted for this visit")


def receive(phone, case):
    """At the door, with a telephone in the hand."""
    phone.press(case.code, near="Receive")
    phone.press("Look at what is offered: accept or return")
    phone.press("Receive and count the parcel")
    phone.press("Count it")
    for choice in phone.page.get_by_label("there and sound").all():
        choice.check()
    phone.press("Save the count")
    phone.reads("The parcel is counted.")
    phone.press("Accept or return what was offered with it")
    assert phone.have_it_checked() == 0
    phone.press("Accept")
    phone.reads("Accepted. The case is with you.")


def try_in(dentist, case):
    dentist.press(case.code)
    dentist.press("Record the try-in")
    dentist.press("Record try-in 1")
    assert dentist.field("Day").input_value() == days_ago(0)
    for question in TRY_IN_QUESTIONS.values():
        dentist.type(question, "not applicable" if "screw test" in question else "yes")
    dentist.type("Does it need polishing again?", "no")
    dentist.press("Save")
    dentist.reads("The try-in is recorded.")
    dentist.press("Overview")
    dentist.press("Try-in passed")
    dentist.have_it_checked()
    dentist.press("Try-in passed")
    dentist.reads("the case is at delivery")


def deliver(dentist, case):
    dentist.press("Record screws and delivery")
    dentist.press("Record", near="36")
    berlin = datetime.now(ZoneInfo("Europe/Berlin"))
    first, second = (berlin - timedelta(minutes=m) for m in (15, 4))
    dentist.type_all(
        {
            "The screw was new": True,
            "Day": first.date().isoformat(),
            "First torque": "30",
            "First tightened at": f"{first:%H:%M}",
            "Second torque": "30",
            "Tightened again at, about ten minutes later": f"{second:%H:%M}",
            "Channel closed with": "PTFE and composite",
        }
    )
    dentist.press("Save")
    dentist.reads("The screw is recorded.")
    dentist.press("Record the delivery")
    dentist.type_all(
        {
            "Bite after delivery": "foil just held in firm bite; free in excursions",
            "or why none was justified": "Taken at the scan body visit.",
            "The patient has the instructions": True,
            "The patient has the implant record": True,
        }
    )
    dentist.press("Save")
    dentist.reads("The delivery is recorded.")
    dentist.press("Overview")
    dentist.press("Delivered to the patient")
    dentist.have_it_checked()
    dentist.press("Delivered to the patient")
    dentist.reads("the case is at recall")


def follow_up(assistant, case):
    assistant.press(case.code)
    assistant.press("Record a follow-up visit")
    assistant.press("48 hours")
    assistant.type("What came of it", "fine")
    assistant.type("36: probing, mesial", "3")
    assistant.type("36: bleeding on probing", "no")
    assistant.press("Save")
    assistant.reads("The visit is recorded.")
    assert "Pia Chairside" in assistant.table("48 hours")
