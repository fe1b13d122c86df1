"""How are the frozen figures, days and teeth of a paper written?"""

from django import template
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from orders.documents import rules
from orders.teeth import Notation, describe, write_span

register = template.Library()

register.filter("mm", rules.millimetres)
register.filter("ncm", rules.newton_centimetres)
register.filter("day", rules.day_in_words)
register.filter("moment_at", rules.moment_in_words)


@register.filter
def iso_teeth(codes):
    """Teeth in ISO 3950, a run as a span; what is no tooth stays as it is."""
    if isinstance(codes, str):
        codes = [codes]
    try:
        return write_span(codes or (), Notation.ISO)
    except ValueError:
        return ", ".join(codes)


@register.filter
def tooth_name(code):
    """The tooth in words: "lower right second premolar"."""
    try:
        return describe(code)
    except ValueError:
        return ""


@register.filter
def said(value):
    """A stored value as words; what nobody said is said to be missing."""
    if value is True:
        return _("yes")
    if value is False:
        return _("no")
    if value in (None, "", [], {}):
        return _("not stated")
    if isinstance(value, list):
        return ", ".join(str(item) for item in value)
    return capfirst(str(value).replace("_", " "))


@register.filter
def typed(value):
    """What somebody typed, exactly; or that nobody stated it."""
    return _("not stated") if value in (None, "") else value


@register.filter
def octets(count):
    """A size in bytes, with its thousands apart."""
    return _("{count}\u00a0bytes").format(count=f"{int(count or 0):,}".replace(",", "\u202f"))
