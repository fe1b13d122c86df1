"""What stands on a board? Every list is bounded and read along an index.

Lists go on behind the last row seen, never by counting rows away, so that the last case costs
what the first does. A page of a board asks a fixed number of queries.
"""

from dataclasses import dataclass

from django.db.models import DateTimeField, F, IntegerField, OuterRef, Q, Subquery
from django.utils.dateparse import parse_date, parse_datetime

from casework.boards.rules import WRONG_PATIENT, Turn, turn_of
from casework.cases.models import Case, Summary
from casework.cases.queries import open_offer
from orders.parties.models import Membership
from orders.parties.queries import partnerships_of
from orders.patients.queries import find_patients
from orders.patients.rules import searchable
from orders.roles import PartyKind, Role
from orders.teeth import ToothUnreadable, read_range

PAGE = 50
SECTION = 10
DESK = 10
# Most cases looked at for the patients that a name finds.
PATIENT_CASES = 500
# Beyond this a count is said as "more than".
COUNTED = 200


def turn_of_case(case) -> Turn:
    """The turn of a case as it stands, with its open offer."""
    offer = open_offer(case)
    to_side = None
    if offer and offer.to_party_id:
        sides = {seat.party_id: seat.side for seat in case.parties.order_by("-pk")}
        to_side = sides.get(offer.to_party_id)
    return turn_of(
        case.stage,
        offered_move=offer.move if offer else "",
        offered_to=to_side,
        is_on_hold=case.is_on_hold,
        hold_until=case.hold_until,
        cancel_asked=bool(case.cancel_asked_at),
        wrong_patient=bool(case.wrong_patient_at),
    )


@dataclass(frozen=True)
class Page:
    """A bounded part of a list, and where it goes on ("" at its end)."""

    rows: list
    further: str


def summaries_for(member):
    """The rows of the member's party; a case withdrawn as wrong patient is its dentists'."""
    rows = Summary.objects.filter(party=member.party_id)
    if not (member.has(Role.DENTIST) and member.party.kind == PartyKind.PRACTICE):
        rows = rows.exclude(turn=WRONG_PATIENT)
    return _with_names(rows, member)


def _with_names(rows, member):
    """A practice reads its own patients' names beside the codes."""
    if member.party.kind == PartyKind.PRACTICE:
        return rows.annotate(patient_name=F("case__order__patient__identity__name"))
    return rows


def section_of(member, name, *, after="", size=SECTION):
    """The cases on which it is the party's turn, of one section, the most urgent first."""
    rows = summaries_for(member).filter(is_open=True, is_turn=True, section=name)
    return _page(rows, "due_on", after, size)


def turns_of_member(member, *, after="", size=PAGE):
    """The cases assigned to the member on which it is the party's turn."""
    rows = summaries_for(member).filter(is_open=True, is_turn=True, assigned=member)
    return _page(rows, "due_on", after, size)


def visits_of(member, kind, *, booked, after="", size=DESK):
    """Cases whose next visit is of a kind: those booked, or those still to book."""
    rows = summaries_for(member).filter(
        is_open=True, visit_kind=kind, visit_at__isnull=not booked
    )
    return _page(rows, "visit_at" if booked else "due_on", after, size)


def case_list(member, *, is_open=True, text="", after="", size=PAGE):
    """All cases of the party, those that moved last first; only those that `text` finds."""
    rows = summaries_for(member)
    if text.strip():
        return _page(rows.filter(_found_by(member, text.strip())), "-stage_since", after, size)
    return _page(rows.filter(is_open=is_open), "-stage_since", after, size)


def _found_by(member, text):
    """By code, by site in the party's notation, by party; a practice by name and chart, too.

    Names are looked up where there are few of them, so that no long table is read for them.
    """
    code = text.upper().replace(" ", "")
    if len(code) > 3 and "-" not in code:
        code = f"{code[:3]}-{code[3:]}"
    found = Q(code__startswith=code)
    if names := _partners_called(member, text):
        found |= Q(practice_name__in=names) | Q(laboratory_name__in=names)
    if teeth := _teeth_in(member, text):
        sites = Q()
        for tooth in teeth:
            sites &= Q(teeth__contains=tooth)
        found |= sites
    if member.party.kind == PartyKind.PRACTICE and len(searchable(text)) > 1:
        patients = [row.pk for row in find_patients(member.party, text)]
        cases = Case.objects.filter(order__patient__in=patients)
        found |= Q(case__in=list(cases.values_list("pk", flat=True)[:PATIENT_CASES]))
    return found


def _partners_called(member, text):
    wanted = searchable(text)
    parties = [one["party"] for one in partnerships_of(member.party)] + [member.party]
    return [party.name for party in parties if wanted and wanted in searchable(party.name)]


def _teeth_in(member, text):
    try:
        return read_range(text, member.party.notation)
    except ToothUnreadable:
        return ()


def summary_for(member, code):
    """The member's row of one case, or None."""
    return summaries_for(member).filter(code=code).first()


@dataclass(frozen=True)
class Load:
    """One member and the open work that is assigned to him or her."""

    member: Membership
    turn_count: int
    late_count: int
    is_away: bool


class _BoundedCount(Subquery):
    """Counts the rows of a sliced query: beyond its bound nothing is read."""

    template = "(SELECT COUNT(*) FROM (%(subquery)s) counted)"
    output_field = IntegerField()


def loads_of(member, *, today):
    """Every active member of the party with what waits for each; counts stop at COUNTED."""
    # In the order of the index: unordered, a member without work has the whole table read.
    mine = (
        Summary.objects.filter(
            party=member.party_id, is_open=True, is_turn=True, assigned=OuterRef("pk")
        )
        .order_by("due_on")
        .values("pk")
    )
    late = mine.filter(due_on__lt=today)
    rows = (
        Membership.objects.filter(party=member.party_id, is_active=True)
        .select_related("person")
        .annotate(
            turn_count=_BoundedCount(mine[: COUNTED + 1]),
            late_count=_BoundedCount(late[: COUNTED + 1]),
        )
        .order_by("person__name", "pk")[:COUNTED]
    )
    return [
        Load(
            row,
            row.turn_count,
            row.late_count,
            bool(row.away_until and row.away_until > today),
        )
        for row in rows
    ]


def unassigned(member, *, after="", size=SECTION):
    """Cases on which it is the party's turn and nobody has them."""
    rows = summaries_for(member).filter(is_open=True, is_turn=True, assigned=None)
    return _page(rows, "due_on", after, size)


def assigned_to(member, memberships, *, size=SECTION):
    """Cases on which it is the party's turn, assigned to one of these members."""
    rows = summaries_for(member).filter(is_open=True, is_turn=True, assigned__in=memberships)
    return _page(rows, "due_on", "", size)


def overdue(member, *, today, after="", size=SECTION):
    """Cases on which it is the party's turn and whose day has passed."""
    rows = summaries_for(member).filter(is_open=True, is_turn=True, due_on__lt=today)
    return _page(rows, "due_on", after, size)


def _page(rows, key, after, size):
    """The rows behind `after`, ordered by the key, then by number; days not known come last."""
    descending = key.startswith("-")
    field = key.lstrip("-")
    ordered = F(field).desc() if descending else F(field).asc(nulls_last=True)
    rows = rows.order_by(ordered, "-pk" if descending else "pk")
    if behind := _behind(after, field, descending):
        rows = rows.filter(behind)
    found = list(rows[: size + 1])
    further = ""
    if len(found) > size:
        last = found[size - 1]
        value = getattr(last, field)
        further = f"{value.isoformat() if value else ''}~{last.pk}"
    return Page(found[:size], further)


def _behind(after, field, descending):
    """What lies behind the mark of a page; a mark that cannot be read is the beginning."""
    text, _tilde, number = (after or "").partition("~")
    if not number.isascii() or not number.isdigit() or len(number) > 18:
        return None
    pk, step = int(number), "lt" if descending else "gt"
    if not text:
        return Q(**{f"{field}__isnull": True, f"pk__{step}": pk})
    value = _read_mark(text, field)
    if value is None:
        return None
    behind = Q(**{f"{field}__{step}": value}) | Q(**{field: value, f"pk__{step}": pk})
    return behind if descending else behind | Q(**{f"{field}__isnull": True})


def _read_mark(text, field):
    """The day or the moment in a mark, whichever the field holds; None where it is neither."""
    is_moment = isinstance(Summary._meta.get_field(field), DateTimeField)
    try:
        value = parse_datetime(text) if is_moment else parse_date(text)
    except ValueError:
        return None
    return None if is_moment and value and value.tzinfo is None else value
