"""How does one form about a case answer: shown, refused with its sentences, or done?"""

from django.contrib import messages
from django.shortcuts import redirect, render

from orders.records import ChangedMeanwhile
from orders.refusals import Refused

FORM = "casework/cases/form.html"


def answer_form(request, desk, form, *, act, done, to, template=FORM, warn=None, **context):
    """Show `form`, or call `act` with what was typed and go to `to` with the word `done`.

    `warn` is called with what `act` returned and gives sentences worth reading.
    """
    status, sentences = 200, []
    if request.method == "POST":
        status = 422
        if form.is_valid():
            try:
                result = act(form.cleaned_data)
            except (Refused, ChangedMeanwhile) as refusal:
                status, sentences = 409, getattr(refusal, "sentences", [str(refusal)])
                context["stands"] = getattr(refusal, "current", None)
            else:
                messages.success(request, done)
                for sentence in warn(result) if warn else ():
                    messages.warning(request, sentence)
                return redirect(*to)
    context |= {"desk": desk, "case": desk.case, "form": form, "sentences": sentences}
    return render(request, template, context, status=status)


def answer_press(request, *, act, done, to):
    """A button without fields: do it, or say why not, and go to `to`."""
    try:
        act()
    except (Refused, ChangedMeanwhile) as refusal:
        for sentence in getattr(refusal, "sentences", [str(refusal)]):
            messages.error(request, sentence)
    else:
        messages.success(request, done)
    return redirect(*to)
