"""How is the other side asked, and how is a question answered?"""

from functools import partial

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from casework.audit.services import record
from casework.cases.access import Desk, require
from casework.cases.models import Case
from casework.cases.queries import party_on, side_of
from casework.cases.services import refresh_summary
from casework.evidence import keeping
from casework.questions import rules
from casework.questions.models import Question, QuestionPicture
from casework.questions.pictures import kept_pictures, write_pictures
from casework.questions.queries import has_seen, subjects_for
from orders.refusals import Refused


def _refuse(objections):
    if objections:
        raise Refused(*(_(sentence) for sentence in objections))


def _subject(question):
    return f"{question._meta.label}:{question.pk}"


def ask_question(case, *, by, text, to_side="", about="", pictures=(), at=None):
    """Ask another side about the case, a file or a design version (`about`, a subject).

    `pictures` are ended Incomings, shown with the question.
    """
    at = at or timezone.now()
    with kept_pictures(pictures, case=case, by=by) as shown, transaction.atomic():
        case = Case.objects.select_for_update(of=("self",), no_key=True).get(pk=case.pk)
        require(case, by, "ask question")
        side = side_of(case, by.party)
        to_side = to_side or rules.ASKS[side][0]
        _refuse(
            rules.objections_to_question(
                text=text, side=side, to_side=to_side, has_seen=has_seen(case, to_side)
            )
        )
        if about not in dict(subjects_for(Desk(case, by, side))):
            raise Refused(_("What the question is about is not part of this case."))
        last = case.questions.order_by("-number").first()
        question = Question.objects.create(
            case=case,
            number=last.number + 1 if last else 1,
            asked_by=by,
            asked_at=at,
            to_party=party_on(case, to_side),
            about=about,
            text=text,
        )
        write_pictures(question, shown)
        record(
            "question.asked",
            subject=_subject(question),
            by=by,
            case=case.code,
            facts={
                "number": question.number,
                "to": question.to_party.name,
                "about": about,
                "text": text,
                "pictures": [row["sha256"] for row in shown],
            },
            at=at,
        )
        refresh_summary(case)
    return question


def answer_question(question, *, by, text, how=rules.WRITTEN, pictures=(), at=None):
    """Answer in writing, or note what a call brought. A call never approves anything.

    `pictures` are ended Incomings, shown with the answer.
    """
    at = at or timezone.now()
    kept = kept_pictures(pictures, case=question.case, by=by)
    with kept as shown, transaction.atomic():
        question = (
            Question.objects.select_for_update(of=("self",), no_key=True)
            .select_related("case__order", "asked_by")
            .get(pk=question.pk)
        )
        case = question.case
        require(case, by, "answer question")
        # A call may be noted by either end of it; a written answer is the asked party's.
        ends = {question.to_party_id} | (
            {question.asked_by.party_id} if how == rules.CALL else set()
        )
        if by.party_id not in ends:
            raise PermissionDenied
        _refuse(
            rules.objections_to_answer(text=text, how=how, is_open=question.answered_at is None)
        )
        question.answer, question.answered_how = text, how
        question.answered_by, question.answered_at = by, at
        question.save(update_fields=["answer", "answered_how", "answered_by", "answered_at"])
        write_pictures(question, shown, is_of_answer=True)
        record(
            "question.answered",
            subject=_subject(question),
            by=by,
            case=case.code,
            facts={
                "number": question.number,
                "how": how,
                "text": text,
                "pictures": [row["sha256"] for row in shown],
            },
            at=at,
        )
        refresh_summary(case)
    return question


def erase_pictures(case):
    """Delete the bytes of all pictures of a case's questions; digests stay. Idempotent.

    What a screen showed may name a person, and nobody can look for that as in a text. Runs in
    the transaction of the erasure; the bytes go when it is committed.
    """
    rows = QuestionPicture.objects.filter(question__case=case).exclude(storage_key="")
    with transaction.atomic():
        for key in list(rows.values_list("storage_key", flat=True)):
            transaction.on_commit(partial(keeping.forget, key))
        rows.update(storage_key="")
