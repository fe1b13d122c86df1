"""How does one form about a case answer: shown, refused with its sentences, or done?"""

from django.contrib import messages
from django.shortcuts import redirect, render

from orders.records import ChangedMeanwhile
from orders.refusals import Refused

FORM = "casework/cases/form.html"


def typed_in(request):
    """What was sent, or None where the page is only shown or nothing of it was read."""
    is_read = request.method == "POST" and not getattr(request, "refusal", None)
    return request.POST if is_read else None


def answer_form(request, desk, form, *, act, done, to, template=FORM, warn=None, **context):
    """Show `form`, or call `act` with what was typed and go to `to` with the word `done`.

    `to` is where to go, or a function of what `act` returned; `warn` is such a function too and
    gives sentences worth reading. A page that is about no case has no `desk`. Where somebody
    saved meanwhile, what stands is shown beside what was typed (`stands`), and the form is
    taken as having seen it: pressing again writes with open eyes. A request with files that was
    refused as a whole (`request.refusal`, evidence.uploading) is not looked at.
    """
    status, sentences = 200, []
    if refusal := getattr(request, "refusal", None):
        status, sentences = refusal.status, refusal.sentences
    elif request.method == "POST":
        status = 422
        if form.is_valid():
            try:
                result = act(form.cleaned_data)
            except Refused as refusal:
                status, sentences = 409, refusal.sentences
            except ChangedMeanwhile as changed:
                status, sentences = 409, [str(changed)]
                context["stands"] = changed.current
                _see(form, changed.current)
            else:
                messages.success(request, done)
                for sentence in warn(result) if warn else ():
                    messages.warning(request, sentence)
                return redirect(*(to(result) if callable(to) else to))
    context |= {"form": form, "sentences": sentences}
    if desk:
        context |= {"desk": desk, "case": desk.case}
    return render(request, template, context, status=status)


def _see(form, current):
    for field, name in (("seen_revision", "revision"), ("seen", "digest")):
        if field in form.fields:
            form.data = form.data.copy()
            form.data[form.add_prefix(field)] = str(getattr(current, name))


def answer_press(request, *, act, done, to):
    """A button without fields: do it and go to `to`. A refusal gets a page of its own."""
    act()
    messages.success(request, done)
    return redirect(*to)
