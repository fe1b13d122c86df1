"""Does what enters the trail of a case name the patient?

What is hashed is never taken out again, and others read it. Every act on a case is recorded in
its own transaction, so what is refused here has not happened.
"""

from django.apps import apps
from django.db.models import Value
from django.db.models.functions import StrIndex
from django.utils.translation import gettext as _

from casework.audit.kinds import TYPED
from casework.audit.models import Entry
from orders.canonical import text_of
from orders.catalogue.queries import names_in_catalogue
from orders.parties.queries import names_around
from orders.patients.queries import names_in_order
from orders.refusals import Refused


def refuse_names(kind, *, subject, by, case, facts):
    """Raise Refused where a text that a person typed names the patient of the case.

    A text that the trail of the case holds already is only carried along: it was typed before
    the patient was called so, and refusing it would stop acts that did not bring it.
    """
    if not case:
        return
    typed = [(field, text) for field, text in typed_in(kind, subject, facts) if text]
    names = names_in_order(case) if typed else ()
    found = [pair for pair in typed if _is_about(*pair, names)]
    if not found:
        return
    others = [*names_around(by.party), *names_in_catalogue(by.party)] if by else []
    labels = {
        field.label: field
        for field, text in found
        if _is_about(field, text, names, others) and not _stands(case, text)
    }
    if labels:
        raise Refused(*(_sentence(field) for field in labels.values()))


def typed_in(kind, subject, facts):
    """Each text of an event that a person typed, with the field it was typed into."""
    if kind == "record.saved":
        fields, facts = apps.get_model(subject.partition(":")[0]).TYPED, facts["says"]
    else:
        fields = TYPED.get(kind, {})
    for path, field in fields.items():
        for text in _texts_at(facts, path.split(".")):
            yield field, text


def _texts_at(value, path):
    """What stands at the path, in each row where there are several."""
    if isinstance(value, list | tuple):
        for row in value:
            yield from _texts_at(row, path)
    elif not path:
        yield value
    elif path[0] in value:
        yield from _texts_at(value[path[0]], path[1:])


def _is_about(field, text, names, others=()):
    return any(field.is_about(text, name, others) for name in names)


def _stands(case, text):
    place = StrIndex("text", Value(text_of(text)))
    return Entry.objects.filter(case=case).annotate(place=place).filter(place__gt=0).exists()


def _sentence(field):
    return _(
        "“{field}” seems to hold the patient's name. Others read it, and they know the patient"
        " by the case code only. {advice}"
    ).format(field=_(field.label), advice=_(field.advice))
