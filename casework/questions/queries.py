"""Which questions does a desk see, and which wait for it?"""

from django.db.models import Q
from django.http import Http404
from django.utils.translation import gettext as _

from casework.cases.queries import seat_on
from casework.designs.queries import versions_for
from casework.evidence.queries import Download, files_for
from casework.evidence.rules import ENDINGS
from casework.questions import rules
from casework.questions.models import Question


def questions_for(desk):
    """The questions asked by or put to this desk's party, open ones first, newest first."""
    party = desk.member.party_id
    rows = Question.objects.filter(case=desk.case).filter(
        Q(to_party=party) | Q(asked_by__party=party)
    )
    return (
        rows.select_related(
            "asked_by__person", "asked_by__party", "to_party", "answered_by__person"
        )
        .prefetch_related("pictures")
        .order_by("answered_at", "-number")
    )


def picture_of(question, number):
    """The bytes of one picture of a question or its answer; Http404 where they were erased."""
    row = question.pictures.filter(number=number).exclude(storage_key="").first()
    if row is None:
        raise Http404
    name = f"{question.case.code}-question-{question.number}-{number}.{ENDINGS[row.format]}"
    return Download(number, name, row.storage_key, row.size_bytes, row.sha256, row.format)


def open_questions(case, party=None):
    """Questions without an answer, all of them or those put to one party."""
    rows = case.questions.filter(answered_at=None).order_by("number")
    return rows.filter(to_party=party) if party else rows


def sides_to_ask(desk):
    """The sides this desk may ask on this case, those that see it."""
    return [side for side in rules.ASKS.get(desk.side, ()) if has_seen(desk.case, side)]


def has_seen(case, side):
    seat = seat_on(case, side)
    return bool(seat and seat.seen_from and not seat.hidden_at)


def subjects_for(desk):
    """What a question can be about, as (subject, words)."""
    found = [("", _("the case as a whole"))]
    if desk.sees("design"):
        found += [
            (version.subject, _("design version {number}").format(number=version.number))
            for version in versions_for(desk)
        ]
    if desk.sees("scans") or desk.sees("pictures"):
        found += [
            (file.subject, _("file {number}").format(number=file.number))
            for file in files_for(desk)
        ]
    return found


def questions_in_words(desk):
    """The questions a desk sees, each with what it is about in words (`about_words`)."""
    subjects = dict(subjects_for(desk))
    rows = list(questions_for(desk))
    for row in rows:
        row.about_words = subjects.get(row.about, "")
    return rows
