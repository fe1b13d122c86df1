"""Pages that move a case: what a move needs, offering, accepting, returning, withdrawing."""

import uuid

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from casework.cases.access import open_case
from casework.cases.rules import may_act
from casework.findings.forms import typed_reasons
from casework.findings.queries import standing_of
from casework.findings.services import answer_asks, ask_for_gate
from casework.handoffs import effects, offers, outcomes, services
from casework.handoffs.forms import AcceptForm, MoveForm, ReasonForm, ReturnForm
from casework.handoffs.models import Condition, Notice
from casework.handoffs.queries import handoff_for, handoffs_for, manifest_of, notices_of
from casework.stages import NoSuchMove, find_move
from orders.parties.access import members_only
from orders.refusals import PasswordWrong, Refused


def _move_of(desk, name):
    try:
        move = find_move(desk.case.stage, name)
    except NoSuchMove:
        raise Http404 from None
    if not desk.may_move(move):
        raise PermissionDenied
    return move


@members_only()
def move_page(request, code, name):
    """What a move needs, what was found, and the last press."""
    desk = open_case(request.member, code)
    if request.method == "POST" and request.POST.get("do") == "move":
        return _make(request, desk, name)
    move = _move_of(desk, name)
    if request.method == "POST":
        return _check_or_answer(request, desk, move, "case_move", (code, name))
    return _show_move(request, desk, move, _blank_form(desk, move))


def _blank_form(desk, move):
    row = effects.subject_to_sign(desk.case, move) if move.signed else None
    seen = "" if row is None else row.digest if isinstance(row.digest, str) else row.digest()
    initial = {"token": uuid.uuid4().hex, "source": desk.case.stage, "seen": seen}
    return MoveForm(initial=initial, move=move)


def _show_move(request, desk, move, form, sentences=(), status=200):
    # Asked first: what is checked meanwhile is then in the standing.
    waiting = desk.case.gate_runs.filter(move=move.name, state="waiting").last()
    standing = standing_of(desk.case, move, on=timezone.now().date(), preview=True)
    context = {
        "desk": desk,
        "case": desk.case,
        "move": move,
        "form": form,
        "standing": standing,
        # A page that reloads by itself would lose the reasons that are being typed.
        "waiting": waiting if standing.not_run else None,
        "sentences": sentences,
    }
    return render(request, "casework/handoffs/move.html", context, status=status)


def _check_or_answer(request, desk, move, name, args, for_acceptance=False):
    """Press "check", or give reasons for what is asked."""
    if request.POST.get("do") == "answer":
        reasons = typed_reasons(request.POST)
        answer_asks(
            desk.case,
            move=move,
            reasons=reasons,
            by=request.member,
            for_acceptance=for_acceptance,
        )
        if reasons:
            messages.success(request, _("Your reasons are recorded; they go with the handoff."))
        else:
            messages.warning(request, _("No reason was typed. Type one beside what is asked."))
    else:
        ask_for_gate(desk.case, move=move, by=request.member, for_acceptance=for_acceptance)
    return redirect(name, *args)


def _make(request, desk, name):
    source = request.POST.get("source", "")
    try:
        move = find_move(source, name)
    except (NoSuchMove, ValueError):
        raise Http404 from None
    if not desk.may_move(move):
        raise PermissionDenied
    form = MoveForm(request.POST, move=move)
    if not form.is_valid():
        return _show_move(request, desk, move, form, status=422)
    data = form.cleaned_data
    try:
        handoff = services.make_move(
            desk.case,
            name=name,
            by=request.member,
            reason=data.get("reason", ""),
            password=data.get("password", ""),
            token=data["token"],
            source=source,
            seen=data["seen"],
        )
    except Refused as refusal:
        sentences = _beside_field(form, refusal)
        return _show_move(request, desk, move, form, sentences, status=409)
    if handoff is None:
        messages.success(request, _("The laboratory was asked to acknowledge."))
    elif handoff.is_open:
        messages.success(request, _("Offered to {party}.").format(party=handoff.to_party.name))
    else:
        said = _("{title}: the case is at {stage}.")
        messages.success(request, said.format(title=_(move.title), stage=handoff.target))
    return redirect("case", desk.case.code)


def _beside_field(form, refusal):
    """What a refusal says above the form; about the password it is said beside the field."""
    if not isinstance(refusal, PasswordWrong):
        return refusal.sentences
    form.add_error("password", " ".join(refusal.sentences))
    return ()


@members_only()
def handoff_list(request, code):
    desk = open_case(request.member, code, area="handoffs")
    context = {"desk": desk, "case": desk.case, "handoffs": handoffs_for(desk)}
    return render(request, "casework/handoffs/list.html", context)


@members_only()
def handoff_page(request, code, number):
    desk = open_case(request.member, code)
    return _show_handoff(request, desk, number)


def _show_handoff(request, desk, number, *, sentences=(), status=200, **forms):
    handoff = handoff_for(desk, number)
    move = find_move(handoff.source, handoff.move)
    mine = handoff.is_open and handoff.to_party_id == request.member.party_id
    may_answer = mine and offers.may_answer(move, desk.side, request.member.role_set)
    if not may_answer and not desk.sees("handoffs"):
        raise PermissionDenied
    context = {
        "desk": desk,
        "case": desk.case,
        "handoff": handoff,
        "move": move,
        "manifest": manifest_of(handoff),
        "may_answer": may_answer,
        "may_withdraw": handoff.is_open
        and handoff.from_party_id == request.member.party_id
        and desk.may_move(move),
        "sentences": sentences,
        "accept_form": AcceptForm(move=move, party=request.member.party),
        "return_form": ReturnForm(),
        "withdraw_form": ReasonForm(),
        "amend_form": ReasonForm(label=_("What the amendment answers"), signed=move.signed),
    } | forms
    if may_answer:
        runs = desk.case.gate_runs.filter(move=move.name, for_acceptance=True, state="waiting")
        waiting, today = runs.last(), timezone.now().date()
        standing = standing_of(desk.case, move, on=today, for_acceptance=True, preview=True)
        context["standing"] = standing
        context["waiting"] = waiting if standing.not_run else None
    return render(request, "casework/handoffs/handoff.html", context, status=status)


def _answering(request, code, number):
    """The desk, the handoff and its move, where this member may answer it."""
    desk = open_case(request.member, code)
    handoff = handoff_for(desk, number)
    move = find_move(handoff.source, handoff.move)
    mine = handoff.to_party_id == request.member.party_id
    if not mine or not offers.may_answer(move, desk.side, request.member.role_set):
        raise PermissionDenied
    return desk, handoff, move


@require_POST
@members_only()
def check_offer(request, code, number):
    desk, _handoff, move = _answering(request, code, number)
    return _check_or_answer(
        request, desk, move, "case_handoff", (code, number), for_acceptance=True
    )


@require_POST
@members_only()
def accept(request, code, number):
    desk, handoff, move = _answering(request, code, number)
    form = AcceptForm(request.POST, move=move, party=request.member.party)
    if not form.is_valid():
        return _show_handoff(request, desk, number, status=422, accept_form=form)
    try:
        offers.accept_offer(
            handoff,
            by=request.member,
            promised_on=form.cleaned_data.get("promised_on"),
            conditions=form.conditions(),
        )
    except Refused as refusal:
        return _show_handoff(
            request, desk, number, sentences=refusal.sentences, status=409, accept_form=form
        )
    messages.success(request, _("Accepted. The case is with you."))
    return redirect("case", code)


@require_POST
@members_only()
def give_back(request, code, number):
    desk, handoff, _move = _answering(request, code, number)
    form = ReturnForm(request.POST)
    if not form.is_valid():
        return _show_handoff(request, desk, number, status=422, return_form=form)
    try:
        offers.return_offer(handoff, by=request.member, reasons=form.reasons())
    except Refused as refusal:
        return _show_handoff(
            request, desk, number, sentences=refusal.sentences, status=409, return_form=form
        )
    messages.success(request, _("Returned with your reasons."))
    return redirect("case", code)


def _sending(request, code, number):
    """The desk and the handoff, where this member's side offered it and may make the move."""
    desk = open_case(request.member, code)
    handoff = handoff_for(desk, number)
    move = find_move(handoff.source, handoff.move)
    if handoff.from_party_id != request.member.party_id or not desk.may_move(move):
        raise PermissionDenied
    return desk, handoff, move


@require_POST
@members_only()
def withdraw(request, code, number):
    desk, handoff, _move = _sending(request, code, number)
    form = ReasonForm(request.POST)
    if not form.is_valid():
        return _show_handoff(request, desk, number, status=422, withdraw_form=form)
    offers.withdraw_offer(handoff, by=request.member, reason=form.cleaned_data["text"])
    messages.success(request, _("The offer was withdrawn."))
    return redirect("case", code)


@require_POST
@members_only()
def amend(request, code, number):
    desk, handoff, move = _sending(request, code, number)
    form = ReasonForm(request.POST, signed=move.signed)
    if not form.is_valid():
        return _show_handoff(request, desk, number, status=422, amend_form=form)
    try:
        offers.amend_offer(
            handoff,
            by=request.member,
            reason=form.cleaned_data["text"],
            password=form.cleaned_data.get("password", ""),
        )
    except Refused as refusal:
        return _show_handoff(
            request,
            desk,
            number,
            sentences=_beside_field(form, refusal),
            status=409,
            amend_form=form,
        )
    messages.success(request, _("The offer was amended; the other side was told."))
    return redirect("case_handoff", code, number)


@require_POST
@members_only()
def take_up(request, code, number):
    desk = open_case(request.member, code)
    handoff = handoff_for(desk, number)
    if not may_act("answer offers", desk.side, request.member.role_set):
        raise PermissionDenied
    if handoff.to_party_id != request.member.party_id:
        raise PermissionDenied
    outcomes.take_up(handoff, by=request.member)
    messages.success(request, _("You took the work up."))
    return redirect("case", code)


@members_only()
def condition(request, code, pk):
    desk = open_case(request.member, code, act="answer question")
    row = get_object_or_404(Condition, pk=pk, handoff__in=handoffs_for(desk))
    form = ReasonForm(request.POST or None, label=_("How the condition is met"))
    if request.method == "POST" and form.is_valid():
        outcomes.meet_condition(row, by=request.member, answer=form.cleaned_data["text"])
        messages.success(request, _("The condition is met."))
        return redirect("case", code)
    context = {
        "desk": desk,
        "case": desk.case,
        "form": form,
        "title": _("Condition: {text}").format(text=row.text),
    }
    status = 422 if request.method == "POST" else 200
    return render(request, "casework/cases/form.html", context, status=status)


@members_only()
def wrong_patient(request, code):
    desk = open_case(request.member, code, act="withdraw as wrong patient")
    if request.method == "POST":
        outcomes.withdraw_as_wrong_patient(desk.case, by=request.member)
        messages.success(request, _("Nobody outside sees the case any more; they were told."))
        return redirect("case", code)
    context = {
        "desk": desk,
        "case": desk.case,
        "title": _("Withdraw: sent for the wrong patient"),
        "text": _(
            "The case is hidden from everybody outside your practice's dentists at once, and"
            " whoever saw it is told to delete what they downloaded. This cannot be undone."
        ),
        "button": _("Hide the case now"),
    }
    return render(request, "casework/cases/confirm.html", context)


@members_only()
def cancellation(request, code):
    desk = open_case(request.member, code, act="acknowledge cancellation")
    if request.method == "POST":
        services.acknowledge_cancellation(desk.case, by=request.member)
        messages.success(request, _("The case is cancelled; what was done stays on record."))
        return redirect("case", code)
    context = {
        "desk": desk,
        "case": desk.case,
        "title": _("Acknowledge the cancellation"),
        "text": _("The practice asks to cancel: {reason}").format(
            reason=desk.case.cancel_reason
        ),
        "button": _("Stop work and acknowledge"),
    }
    return render(request, "casework/cases/confirm.html", context)


@members_only()
def notices(request):
    return render(
        request, "casework/handoffs/notices.html", {"notices": notices_of(request.member)}
    )


@require_POST
@members_only()
def read_notices(request):
    Notice.objects.filter(member=request.member, read_at=None).update(read_at=timezone.now())
    return redirect("notices")
