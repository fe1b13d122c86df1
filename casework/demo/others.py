"""Which other cases wait at their stages, so that every board has something on it?"""

from datetime import timedelta

from django.utils import timezone

from casework.cases.services import choose_party, hold_case
from casework.demo.story import Story
from casework.demo.works import CROWN, FRONT
from casework.questions.services import ask_question
from casework.stages import Side

# Patient, work, last step told, how many days before today the case began.
OTHERS = (
    ("one", CROWN, "record_planning", 1),
    ("two", FRONT, "prescribe", 3),
    ("three", CROWN, "send_order", 3),
    ("four", FRONT, "accept_order", 4),
    ("five", CROWN, "submit_design", 7),
    ("six", CROWN, "make", 12),
    ("seven", CROWN, "book_try_in", 13),
    ("eight", FRONT, "receive", 15),
    ("nine", CROWN, "pass_try_in", 19),
    ("ten", CROWN, "prescribe", 3),
    ("eleven", CROWN, "approve_design", 8),
)


def tell_others(cast, files, finish_jobs):
    """Tell each case as far as its last step; returns how many there are."""
    told = {}
    for key, work, last, began_days_ago in OTHERS:
        story = Story(
            cast,
            work,
            cast.patients[key],
            files[work.key],
            begun_at=timezone.now() - timedelta(days=began_days_ago),
            finish_jobs=finish_jobs,
        )
        told[key] = story.run_to(last)
    _offer_to(told["ten"], Side.SCAN_CENTRE, "scans", "send_scans", "assistant", day=2)
    _offer_to(
        told["eleven"], Side.MILLING_CENTRE, "mill", "send_to_milling", "technician", day=8
    )
    at_bench = told["four"].case
    ask_question(
        at_bench,
        by=cast.members["technician"],
        text="The papilla towards 21 is higher than on the other side. Keep it?",
    )
    hold_case(
        told["one"].case,
        by=cast.members["dentist"],
        reason="The patient is away; healing goes on.",
        look_again_on=(timezone.now() + timedelta(days=14)).date(),
    )
    finish_jobs()
    return len(told)


def _offer_to(story, side, party, move, by, *, day):
    """Choose a party outside the two sides and offer it the case."""
    chooser = story.who("dentist" if side == Side.SCAN_CENTRE else by)
    choose_party(story.case, side=side, party=story.cast.parties[party], by=chooser)
    story.move(move, by=by, day=day, hour=12)
