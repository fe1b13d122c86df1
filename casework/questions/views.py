"""Pages of the questions: what is asked and shown, what waits for an answer."""

from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from casework.cases.access import open_case
from casework.cases.pages import answer_form, typed_in
from casework.evidence.downloads import file_response
from casework.evidence.rules import size_in_words
from casework.evidence.uploading import streams
from casework.questions import queries, rules, services
from casework.questions.forms import AnswerForm, AskForm
from casework.questions.pictures import too_large
from orders.parties.access import members_only
from orders.refusals import Refused


def _may_list(request, code):
    act = "ask question" if request.method == "POST" else None
    return open_case(request.member, code, area="questions", act=act)


@streams(_may_list, most=rules.PICTURE_MAX_BYTES)
def question_list(request, desk):
    """The questions of the case, and asking one."""
    sides = queries.sides_to_ask(desk) if desk.may("ask question") else []
    if not sides and request.method == "GET":
        context = {
            "desk": desk,
            "case": desk.case,
            "questions": queries.questions_in_words(desk),
        }
        return render(request, "casework/questions/list.html", context)
    form = AskForm(
        typed_in(request),
        party=request.member.party,
        sides=sides,
        subjects=queries.subjects_for(desk),
    )
    return answer_form(
        request,
        desk,
        form,
        template="casework/questions/list.html",
        questions=queries.questions_in_words(desk),
        act=lambda typed: services.ask_question(
            desk.case, by=request.member, pictures=_pictures(request), **typed
        ),
        done=_("The question is asked."),
        to=("case_questions", desk.case.code),
        **_about_pictures(request),
    )


def _may_answer(request, code, number):
    desk = open_case(request.member, code, area="questions", act="answer question")
    return desk, _question(desk, number)


def _question(desk, number):
    return get_object_or_404(queries.questions_for(desk), number=number)


@streams(_may_answer, most=rules.PICTURE_MAX_BYTES)
def answer(request, opened):
    desk, question = opened
    form = AnswerForm(
        typed_in(request),
        party=request.member.party,
        may_write=question.to_party_id == request.member.party_id,
    )
    return answer_form(
        request,
        desk,
        form,
        template="casework/questions/answer.html",
        question=question,
        act=lambda typed: services.answer_question(
            question, by=request.member, pictures=_pictures(request), **typed
        ),
        done=_("The question is answered."),
        to=("case_questions", desk.case.code),
        **_about_pictures(request),
    )


def _pictures(request):
    """The files of a request; raises Refused with the names of those that are too large."""
    if names := request.incoming.refused:
        raise Refused(*map(too_large, names))
    return [file for _field, sent in request.FILES.lists() for file in sent]


def _about_pictures(request):
    """What the page says of the pictures it takes; a file has to be chosen anew each time."""
    return {
        "pictures_most": rules.PICTURES_MAX,
        "picture_bytes_most": rules.PICTURE_MAX_BYTES,
        "picture_size_most": size_in_words(rules.PICTURE_MAX_BYTES),
        "had_pictures": bool(request.FILES or request.incoming.refused),
    }


@require_GET
@members_only()
def picture(request, code, number, picture):
    """A picture, for whoever sees the question."""
    desk = open_case(request.member, code, area="questions")
    download = queries.picture_of(_question(desk, number), picture)
    return file_response(download, is_shown=True)
