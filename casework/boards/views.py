"""Which pages show many cases at once, each to the roles it is for?"""

from datetime import UTC, datetime
from functools import wraps
from zoneinfo import ZoneInfo

from django.core.exceptions import PermissionDenied
from django.http import Http404
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from casework.boards import queries
from casework.boards.sections import BOARDS, SECTIONS, VISITS, first_page, has_board
from orders.parties.access import members_only

TITLES = {name: label for name, label, _kinds, _roles in BOARDS}


def board(*names):
    """Let those in whose roles, at that kind of party, have one of the boards."""

    def decorate(view):
        @wraps(view)
        def guarded(request, *args, **kwargs):
            member = request.member
            if not any(has_board(name, member.party.kind, member.role_set) for name in names):
                raise PermissionDenied
            return view(request, *args, **kwargs)

        return members_only()(guarded)

    return decorate


def today_at(party):
    """The day it is in the party's time zone."""
    return datetime.now(UTC).astimezone(ZoneInfo(party.time_zone)).date()


@members_only()
def start(request):
    """The page that fits what the member does."""
    return redirect(first_page(request.member.party.kind, request.member.role_set))


def _page(request, template, **context):
    context["today"] = today_at(request.member.party)
    return render(request, f"casework/boards/{template}.html", context)


def _sections(request, name):
    member = request.member
    sections = [(one, queries.section_of(member, one.name)) for one in SECTIONS[name]]
    return _page(request, "sections", title=TITLES[name], board=name, sections=sections)


@board("board_decide")
def decide(request):
    return _sections(request, "board_decide")


@board("board_make")
def make(request):
    return _sections(request, "board_make")


@board("board_waiting")
def waiting(request):
    return _sections(request, "board_waiting")


@members_only()
def section(request, board, section):
    """One section of a board, page by page."""
    name = f"board_{board}"
    found = [one for one in SECTIONS.get(name, ()) if one.name == section]
    if not found:
        raise Http404
    if not has_board(name, request.member.party.kind, request.member.role_set):
        raise PermissionDenied
    after = request.GET.get("after", "")
    rows = queries.section_of(request.member, section, after=after, size=queries.PAGE)
    return _page(
        request, "list", title=found[0].title, page=rows, empty=found[0].empty, back=name
    )


@board(*SECTIONS)
def mine(request):
    """What is assigned to the member and waits for the party."""
    return _page(
        request,
        "list",
        title=_("Assigned to me"),
        page=queries.turns_of_member(request.member, after=request.GET.get("after", "")),
        empty=_("Nothing that is assigned to you waits. Your coordinator gives cases out."),
    )


@board("board_front_desk")
def front_desk(request):
    """Who can come, for each kind of visit: booked, or still to call."""
    member = request.member
    visits = [
        {
            "visit": visit,
            "booked": queries.visits_of(member, visit.kind, booked=True),
            "to_book": queries.visits_of(member, visit.kind, booked=False),
        }
        for visit in VISITS
    ]
    arriving = queries.section_of(member, "answer")
    return _page(request, "front_desk", visits=visits, arriving=arriving)


@board("board_front_desk")
def visits(request, kind, booked):
    """All cases whose next visit is of one kind, booked or to book, page by page."""
    visit = next((one for one in VISITS if one.kind == kind), None)
    if visit is None or booked not in ("booked", "to-book"):
        raise Http404
    page = queries.visits_of(
        request.member,
        kind,
        booked=booked == "booked",
        after=request.GET.get("after", ""),
        size=queries.PAGE,
    )
    return _page(request, "visits", visit=visit, page=page, booked=booked == "booked")


@board("board_load")
def load(request):
    """Who has how much, what nobody has, what is late, whose member is away."""
    member = request.member
    today = today_at(member.party)
    loads = queries.loads_of(member, today=today)
    away = [one.member for one in loads if one.is_away]
    context = {
        "loads": loads,
        "counted": queries.COUNTED,
        "unassigned": queries.unassigned(member),
        "late": queries.overdue(member, today=today),
        "held": queries.section_of(member, "hold"),
        "of_away": queries.assigned_to(member, away) if away else None,
    }
    return _page(request, "load", **context)


@board("board_load")
def load_list(request, name):
    """One list of the coordinator's board, page by page."""
    member, after = request.member, request.GET.get("after", "")
    lists = {
        "unassigned": (_("Assigned to nobody"), queries.unassigned, {}),
        "late": (_("Late"), queries.overdue, {"today": today_at(member.party)}),
    }
    if name not in lists:
        raise Http404
    title, query, more = lists[name]
    page = query(member, after=after, size=queries.PAGE, **more)
    empty = _("There is no such case.")
    return _page(request, "list", title=title, page=page, empty=empty, back="board_load")


@members_only()
def cases(request):
    """All cases of the party, or those that a search finds."""
    text = request.GET.get("q", "")[:80].replace("\x00", "")
    is_over = request.GET.get("over") == "yes"
    page = queries.case_list(
        request.member, is_open=not is_over, text=text, after=request.GET.get("after", "")
    )
    return _page(request, "cases", page=page, text=text, is_over=is_over)
