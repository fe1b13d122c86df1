"""Pages of the questions: what is asked, what waits for an answer."""

from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext as _

from casework.cases.access import open_case
from casework.cases.pages import answer_form, typed_in
from casework.questions import queries, services
from casework.questions.forms import AnswerForm, AskForm
from orders.parties.access import members_only


@members_only()
def question_list(request, code):
    """The questions of the case, and asking one."""
    if request.method == "POST":
        desk = open_case(request.member, code, area="questions", act="ask question")
    else:
        desk = open_case(request.member, code, area="questions")
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
        act=lambda typed: services.ask_question(desk.case, by=request.member, **typed),
        done=_("The question is asked."),
        to=("case_questions", code),
    )


@members_only()
def answer(request, code, number):
    desk = open_case(request.member, code, area="questions", act="answer question")
    question = get_object_or_404(queries.questions_for(desk), number=number)
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
        act=lambda typed: services.answer_question(question, by=request.member, **typed),
        done=_("The question is answered."),
        to=("case_questions", code),
    )
