"""Which boards are there for whom, and which parts do they have?"""

from collections.abc import Iterable
from dataclasses import dataclass

from orders.roles import PartyKind, Role


@dataclass(frozen=True, slots=True)
class Section:
    """A part of a board: which turns it gathers, and what to say where there are none."""

    name: str
    title: str
    empty: str


_HOLD = Section("hold", "On hold", "No case of yours is on hold.")
_AT_A_CENTRE = (
    Section(
        "answer",
        "To accept or return",
        "Nothing was offered to you. A case shows here as soon as another party sends it.",
    ),
    Section("work", "To do", "No work is waiting. It shows here once you accepted it."),
    _HOLD,
)
SECTIONS = {
    "board_decide": (
        Section(
            "approve",
            "Designs to approve",
            "No design waits for your approval. The laboratory's next version shows here.",
        ),
        Section(
            "treat",
            "To try in or deliver",
            "No work is here to try in or deliver. It shows here once its parcel was counted.",
        ),
        Section(
            "answer",
            "To receive or answer",
            "Nothing was sent to you that waits for an answer.",
        ),
        Section(
            "scan",
            "To scan and order",
            "No case waits for scans. Mark a planned case ready to scan, and it shows here.",
        ),
        Section(
            "plan",
            "To plan",
            "No case is being planned. Open one from the page of its patient.",
        ),
        _HOLD,
        Section("recall", "Follow-up visits", "No delivered case waits for a visit."),
    ),
    "board_make": (
        Section(
            "answer",
            "To accept or return",
            "No order waits for an answer. It shows here when a practice sends it.",
        ),
        Section("design", "To design", "No accepted order waits for its design."),
        Section(
            "work",
            "To make and dispatch",
            "No approved design waits to be made. It shows here once the dentist approved it.",
        ),
        _HOLD,
    ),
    "board_waiting": _AT_A_CENTRE,
}


@dataclass(frozen=True, slots=True)
class Visit:
    """A kind of visit on the front desk's page, and what to say where there is none."""

    kind: str
    question: str
    empty: str


VISITS = (
    Visit(
        "try-in",
        "Who can come for try-in?",
        "No case is on its way to a try-in. One shows here once its parts are being made.",
    ),
    Visit(
        "delivery",
        "Who can come for delivery?",
        "No case is on its way to delivery. One shows here once its try-in has passed.",
    ),
    Visit(
        "recall",
        "Who is due for recall?",
        "No delivered case waits for a visit. The plan of visits is made at delivery.",
    ),
)


# Boards in the order in which a member who has several opens them: url name, label, the kinds
# of party that have it, and the roles that need it.
BOARDS = (
    (
        "board_decide",
        "To decide",
        frozenset({PartyKind.PRACTICE}),
        frozenset({Role.DENTIST, Role.SURGEON, Role.ASSISTANT, Role.HYGIENIST}),
    ),
    (
        "board_make",
        "To make",
        frozenset({PartyKind.LABORATORY}),
        frozenset({Role.TECHNICIAN, Role.COORDINATOR}),
    ),
    (
        "board_waiting",
        "Waiting for you",
        frozenset({PartyKind.SCAN_CENTRE, PartyKind.MILLING_CENTRE}),
        frozenset({Role.SCAN_PROCESSOR, Role.MILLER, Role.COORDINATOR}),
    ),
    (
        "board_front_desk",
        "Who can come",
        frozenset({PartyKind.PRACTICE}),
        frozenset(
            {Role.FRONT_DESK, Role.DENTIST, Role.ASSISTANT, Role.HYGIENIST, Role.COORDINATOR}
        ),
    ),
    ("board_load", "Load", frozenset(PartyKind), frozenset({Role.COORDINATOR})),
)
CASE_LIST = "cases"
# Where somebody with this role alone lands first.
FIRST_FOR = {Role.COORDINATOR: "board_load", Role.ADMINISTRATOR: "members"}


def boards_of(party_kind: str, roles: Iterable[Role]) -> tuple[tuple[str, str], ...]:
    """The boards (url name, label) that somebody with these roles at that party has."""
    held = frozenset(roles)
    return tuple(
        (name, label)
        for name, label, kinds, needed in BOARDS
        if party_kind in kinds and held & needed
    )


def has_board(name: str, party_kind: str, roles: Iterable[Role]) -> bool:
    """Whether somebody with these roles at that kind of party may open the board `name`."""
    return name in {board for board, _label in boards_of(party_kind, roles)}


def first_page(party_kind: str, roles: Iterable[Role]) -> str:
    """The url name of the page a member lands on after signing in."""
    held = frozenset(roles)
    working = held - {Role.ADMINISTRATOR} or held
    for role, name in FIRST_FOR.items():
        if working == {role}:
            return name
    own = boards_of(party_kind, held)
    return own[0][0] if own else CASE_LIST
