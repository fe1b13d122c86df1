"""How are units, spans, figures and the origin of a catalogue row said on pages of records?"""

from django import template
from django.utils.translation import gettext as _

from casework.body_forms.queries import present_forms
from orders import teeth
from orders.catalogue.parts import CALLIPER, dimension_words
from orders.teeth import Notation
from orders.typed.days import say_day

register = template.Library()


@register.filter
def span(codes, party):
    """Teeth as briefly as the party's notation allows: "45-47, 36"."""
    return teeth.write_span(codes, Notation(party.notation)) if codes else ""


@register.filter
def notation_words(party):
    """The party's notation, in words."""
    return teeth.SHORT_LABELS[Notation(party.notation)]


@register.filter
def units_with_sites(prescription):
    """Each unit with the choices for the implant it stands on."""
    return [(unit, prescription.sites.get(unit["tooth"])) for unit in prescription.units]


@register.filter
def yes_no_or_open(value):
    """Yes, no, or that it is not decided."""
    return {True: _("yes"), False: _("no")}.get(value, "–") if value != "" else "–"


@register.filter
def figures(table):
    """Dimensions or limits with their unit."""
    said = []
    for name, value in (table or {}).items():
        unit = "mm²" if name.endswith("_mm2") else "mm"
        said.append(f"{dimension_words(name.removesuffix('2'))} {value} {unit}")
    return "; ".join(said) or "–"


@register.filter
def origin(row):
    """Who says so: invented, measured by the party on a day, or the party's own with source."""
    source = getattr(row, "source", "")
    if row.owner is None:
        return _("shared, invented")
    if source == CALLIPER and row.measured_on:
        return _("measured by {party} on {day}").format(
            party=row.owner.name, day=say_day(row.measured_on)
        )
    return _("own row of {party}; {source}").format(party=row.owner.name, source=source or "–")


@register.simple_tag
def mesh_of(component):
    """The mesh that tells a scan body's form, or None."""
    return present_forms([component]).get(component.pk)


@register.simple_tag
def have_mesh(components):
    """The ids of those components whose form a mesh tells."""
    return set(present_forms([row.pk for row in components]))


@register.filter
def may_do(desk, act):
    """May this member do the act on the case, and is it the time for it?"""
    return desk.may(act)
