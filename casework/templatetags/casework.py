"""How are teeth, states, days and sizes said, and where do a page's links lead?"""

import re
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from django import template
from django.urls import NoReverseMatch, reverse
from django.utils import timezone
from django.utils.html import escape, format_html
from django.utils.safestring import mark_safe
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from casework.boards.queries import turn_of_case
from casework.boards.rules import TURN_LABELS
from casework.boards.sections import boards_of
from casework.stages import Stage
from orders.roles import PartyKind, Role
from orders.teeth import SHORT_LABELS, Notation, read_range, write_span, write_tooth
from orders.typed.text import TypedUnreadable

register = template.Library()

# As sentences of rules and checks name days and teeth, whoever reads them. A day in quotes, or
# given as an example of how to type one, stays as it is.
_DAY_IN_SENTENCE = re.compile(r"(?<![\w'-])(?<!for example )(\d{4}-\d\d-\d\d)(?![\w'-])")
_TEETH_IN_SENTENCE = re.compile(r"\bISO ([1-8][1-8](?:(?:-|, )[1-8][1-8])*)\b")

# The pages about one case: url name, the areas that show it, its words.
CASE_PAGES = (
    ("case", {"overview"}, "Overview"),
    ("case_implants", {"records"}, "Implants"),
    ("case_teeth", {"records"}, "Teeth"),
    ("case_readings", {"records"}, "Readings"),
    ("case_scan_bodies", {"records"}, "Scan bodies"),
    ("case_bite", {"records"}, "Bite"),
    ("case_shade", {"records"}, "Shade"),
    ("case_prescription", {"prescription"}, "Prescription"),
    ("case_files", {"scans", "pictures"}, "Files"),
    ("case_look", {"scans", "design"}, "View"),
    ("case_measures", {"scans", "design"}, "Measures"),
    ("case_designs", {"design"}, "Design versions"),
    ("case_parts", {"parts"}, "Parts and parcels"),
    ("case_visits", {"visits"}, "Visits"),
    ("case_questions", {"questions"}, "Questions"),
    ("case_handoffs", {"handoffs"}, "Handoffs"),
    ("case_papers", {"papers"}, "Papers"),
    ("case_parties", {"handoffs"}, "Parties"),
    ("case_trail", {"trail"}, "Trail"),
)

_PRACTICES = {PartyKind.PRACTICE}
# Pages beside the boards: url name, words, the kinds of party that have them, the roles.
OTHER_PAGES = (
    (
        "patients",
        "Patients",
        _PRACTICES,
        {Role.DENTIST, Role.SURGEON, Role.ASSISTANT, Role.HYGIENIST, Role.FRONT_DESK},
    ),
    (
        "catalogue",
        "Catalogue",
        {PartyKind.PRACTICE, PartyKind.LABORATORY},
        set(Role) - {Role.FRONT_DESK},
    ),
    (
        "material_lots",
        "Lots",
        {PartyKind.LABORATORY, PartyKind.MILLING_CENTRE},
        {Role.TECHNICIAN, Role.MILLER, Role.COORDINATOR},
    ),
    (
        "follow_up_template",
        "Follow-up plan",
        _PRACTICES,
        {Role.ADMINISTRATOR, Role.DENTIST},
    ),
    ("closing_days", "Closing days", set(PartyKind), {Role.ADMINISTRATOR}),
    ("members", "Members", set(PartyKind), {Role.ADMINISTRATOR}),
    ("party", "Party", set(PartyKind), {Role.ADMINISTRATOR}),
)


def _url(name, *args):
    try:
        return reverse(name, args=args)
    except NoReverseMatch:
        return ""


@register.simple_tag
def page_url(name, *args):
    """The address of a page, or nothing where this installation has no such page."""
    return _url(name, *args)


@register.simple_tag
def main_pages(member):
    """The links at the head of every page, for this member."""
    pages = list(boards_of(member.party.kind, member.role_set))
    pages.append(("cases", "Cases"))
    pages += [
        (name, label)
        for name, label, kinds, roles in OTHER_PAGES
        if member.party.kind in kinds and member.has(*roles)
    ]
    return [{"url": url, "label": _(label)} for name, label in pages if (url := _url(name))]


@register.simple_tag
def unread_count(member):
    """How many notices wait, counted up to a hundred."""
    return member.notices.filter(read_at=None)[:100].count()


@register.simple_tag
def case_state(desk):
    """What the head of a case says: whose turn and for what, since when, on hold or not."""
    case = desk.case
    turn = turn_of_case(case)
    zone = ZoneInfo(desk.member.party.time_zone)
    return {
        "sentence": turn.sentence,
        "stage_sentence": _("At {stage} since {day}.").format(
            stage=case.stage, day=_moment(case.stage_since, zone)
        ),
        "hold": _hold(case),
        "areas": [
            {"url": url, "label": _(label)}
            for name, areas, label in CASE_PAGES
            if desk.areas & areas and (url := _url(name, case.code))
        ],
    }


def _hold(case):
    if not case.is_on_hold:
        return ""
    return _("On hold until {day}: {reason}").format(
        day=short_date(case.hold_until), reason=case.hold_reason
    )


@register.filter
def tooth(code, party=None):
    """A tooth in the party's notation; the notation's name and ISO's number in the title."""
    return _said(lambda name: write_tooth(code, name), code, party) if code else ""


@register.filter
def teeth(codes, party=None):
    """Several teeth, given as a list or as codes with blanks between; a run as a span."""
    if isinstance(codes, str):
        codes = codes.replace(",", " ").split()
    codes = tuple(codes or ())
    if not codes:
        return ""
    return _said(lambda name: write_span(codes, name), " ".join(codes), party)


@register.filter
def said(sentence, party=None):
    """A sentence of a rule or a check, its days and teeth as the reader's party writes them."""
    text = escape(_DAY_IN_SENTENCE.sub(_day_said, str(sentence)))
    return mark_safe(_TEETH_IN_SENTENCE.sub(lambda found: _teeth_said(found, party), text))


def _day_said(found):
    try:
        return short_date(date.fromisoformat(found[1]))
    except ValueError:
        return found[0]


def _teeth_said(found, party):
    try:
        return teeth(read_range(found[1], Notation.ISO), party)
    except TypedUnreadable:
        return found[0]


def _said(write, codes, party):
    name = Notation(getattr(party, "notation", "iso"))
    try:
        shown = write(name)
    except ValueError:
        return codes
    title = SHORT_LABELS[name]
    if name != Notation.ISO:
        title = _("{notation}; ISO 3950: {codes}").format(notation=title, codes=codes)
    return format_html('<span class="tooth" title="{}">{}</span>', title, shown)


@register.filter
def words(value):
    """A stored name as words: "working_arch" is "Working arch"."""
    return capfirst(str(value or "").replace("try_in", "try-in").replace("_", " "))


@register.filter
def stage(value):
    """A stage as words."""
    return capfirst(str(Stage(value))) if value else ""


@register.filter
def turn(value):
    """The short name of a turn."""
    return _(TURN_LABELS.get(value, "")) if value else ""


@register.filter
def short_date(day):
    """A day that can be read one way only, whatever the reader's order of day and month."""
    if not day:
        return ""
    if isinstance(day, datetime):
        day = timezone.localtime(day).date() if timezone.is_aware(day) else day.date()
    month = _("Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec").split()[day.month - 1]
    return f"{day.day} {month} {day.year}"


@register.filter
def moment(at, party=None):
    """A moment in the party's time zone."""
    zone = ZoneInfo(getattr(party, "time_zone", "") or "UTC")
    return _moment(at, zone) if at else ""


def _moment(at, zone):
    local = at.astimezone(zone)
    mark = " UTC" if zone.key == "UTC" else ""
    return f"{short_date(local.replace(tzinfo=None))}, {local:%H:%M}{mark}"


@register.filter
def size(count):
    """Bytes as people say them, in powers of ten."""
    count = int(count or 0)
    for unit, step in (("GB", 10**9), ("MB", 10**6), ("kB", 10**3)):
        if count >= step:
            return f"{count / step:.1f} {unit}"
    return f"{count} bytes"


@register.filter
def days_from_today(day, today=None):
    """How far a day lies from today, in words."""
    if not day:
        return ""
    count = (day - (today or datetime.now(UTC).date())).days
    if count == 0:
        return _("today")
    if count < 0:
        return _("1 day late") if count == -1 else _("{n} days late").format(n=-count)
    return _("tomorrow") if count == 1 else _("in {n} days").format(n=count)


@register.filter
def yes_no(value):
    """Yes, no, or that nobody said."""
    return _("not said") if value is None else _("yes") if value else _("no")


@register.simple_tag
def may(desk, act):
    """May this member do the act on the case, and is it the time for it?"""
    return desk.may(act)


@register.simple_tag
def patient_name(desk):
    """The patient's name where this member may see it, else nothing."""
    from orders.patients.queries import name_for

    return name_for(desk.case.order.patient, desk.member)
