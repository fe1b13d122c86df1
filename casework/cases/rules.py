"""Who may see which part of a case, and do what on it? Two tables, nothing else decides."""

from casework.stages import Side, Stage
from orders.roles import Role

PRACTICE, LAB = Side.PRACTICE, Side.LABORATORY
SCANS, MILL = Side.SCAN_CENTRE, Side.MILLING_CENTRE
PLACING = "placing practice"
SIDES = (PRACTICE, LAB, SCANS, MILL, PLACING)

R = Role
ALL_AREAS = frozenset(
    {
        "overview",
        "records",
        "prescription",
        "scans",
        "pictures",
        "design",
        "parts",
        "visits",
        "questions",
        "handoffs",
        "trail",
        "papers",
    }
)
_BENCH = ALL_AREAS - {"visits"}

# What each role on each side sees. A person sees the union of their roles.
SEES = {
    (PRACTICE, R.DENTIST): ALL_AREAS,
    (PRACTICE, R.SURGEON): ALL_AREAS,
    (PRACTICE, R.ASSISTANT): ALL_AREAS,
    (PRACTICE, R.HYGIENIST): ALL_AREAS,
    (PRACTICE, R.COORDINATOR): ALL_AREAS,
    (PRACTICE, R.FRONT_DESK): frozenset({"overview", "parts", "visits", "questions"}),
    (PRACTICE, R.ADMINISTRATOR): frozenset({"overview"}),
    (LAB, R.TECHNICIAN): _BENCH,
    (LAB, R.COORDINATOR): _BENCH,
    (LAB, R.ADMINISTRATOR): frozenset({"overview"}),
    (SCANS, R.SCAN_PROCESSOR): frozenset(
        {"overview", "scans", "questions", "handoffs", "papers"}
    ),
    (SCANS, R.COORDINATOR): frozenset({"overview", "scans", "questions", "handoffs", "papers"}),
    (SCANS, R.ADMINISTRATOR): frozenset({"overview"}),
    (MILL, R.MILLER): frozenset({"overview", "parts", "questions", "handoffs", "papers"}),
    (MILL, R.COORDINATOR): frozenset({"overview", "parts", "questions", "handoffs", "papers"}),
    (MILL, R.ADMINISTRATOR): frozenset({"overview"}),
    (PLACING, R.SURGEON): frozenset({"overview", "records", "questions"}),
    (PLACING, R.ASSISTANT): frozenset({"overview", "records", "questions"}),
    (PLACING, R.COORDINATOR): frozenset({"overview", "records", "questions"}),
    (PLACING, R.ADMINISTRATOR): frozenset({"overview"}),
}

_CLINICAL = {R.DENTIST, R.SURGEON, R.ASSISTANT, R.HYGIENIST}
BENCH = (R.TECHNICIAN, R.SCAN_PROCESSOR, R.MILLER, R.COORDINATOR)
_CHAIRSIDE = {(PRACTICE, role) for role in _CLINICAL}
_EVERYBODY = set(SEES) - {(side, R.ADMINISTRATOR) for side in SIDES}
OPEN = frozenset(Stage) - {Stage.CLOSED, Stage.CANCELLED}
_BEFORE_DESIGN = {Stage.PLANNING, Stage.SCAN_CAPTURE}
_AT_BENCH = {Stage.FABRICATION, Stage.MILLING}

# Act: (who, at which stages). Acts that are moves stand in `stages.py`.
ACTS = {
    "record implants": (
        (_CHAIRSIDE - {(PRACTICE, R.HYGIENIST)})
        | {(PLACING, R.SURGEON), (PLACING, R.ASSISTANT)},
        OPEN,
    ),
    "record readings": (
        _CHAIRSIDE | {(PLACING, R.SURGEON), (PLACING, R.ASSISTANT)},
        OPEN,
    ),
    "record teeth": (_CHAIRSIDE, OPEN),
    "record scan bodies": (_CHAIRSIDE, OPEN),
    "point at scan body": (
        _CHAIRSIDE | {(LAB, R.TECHNICIAN), (SCANS, R.SCAN_PROCESSOR)},
        OPEN,
    ),
    "record bite": (_CHAIRSIDE, OPEN),
    "record shade": (_CHAIRSIDE, OPEN),
    "write prescription": (
        {(PRACTICE, R.DENTIST), (PRACTICE, R.ASSISTANT)},
        OPEN,
    ),
    "choose parties": ({(PRACTICE, R.DENTIST), (PRACTICE, R.COORDINATOR)}, _BEFORE_DESIGN),
    "pass prescriber": ({(PRACTICE, R.DENTIST)}, OPEN),
    "add evidence": (
        _CHAIRSIDE | {(LAB, R.TECHNICIAN), (SCANS, R.SCAN_PROCESSOR), (PLACING, R.SURGEON)},
        OPEN,
    ),
    "settle unit": (
        _CHAIRSIDE | {(LAB, R.TECHNICIAN), (SCANS, R.SCAN_PROCESSOR)},
        OPEN,
    ),
    "make design": ({(LAB, R.TECHNICIAN)}, {Stage.DESIGN}),
    "mark design": ({(PRACTICE, R.DENTIST)}, {Stage.DESIGN_APPROVAL}),
    "record parts": (
        {(LAB, R.TECHNICIAN), (LAB, R.COORDINATOR), (MILL, R.MILLER)},
        _AT_BENCH,
    ),
    "inspect parts": ({(LAB, R.TECHNICIAN), (LAB, R.COORDINATOR)}, {Stage.FABRICATION}),
    "pack parcel": (
        {
            (LAB, R.TECHNICIAN),
            (LAB, R.COORDINATOR),
            (MILL, R.MILLER),
            (PRACTICE, R.DENTIST),
            (PRACTICE, R.FRONT_DESK),
            (PRACTICE, R.ASSISTANT),
        },
        _AT_BENCH | {Stage.TRY_IN, Stage.DELIVERY},
    ),
    "count parcel": (
        {
            (PRACTICE, R.FRONT_DESK),
            (PRACTICE, R.ASSISTANT),
            (PRACTICE, R.DENTIST),
            (PRACTICE, R.COORDINATOR),
            (LAB, R.TECHNICIAN),
            (LAB, R.COORDINATOR),
        },
        OPEN,
    ),
    "book visit": (
        {
            (PRACTICE, R.FRONT_DESK),
            (PRACTICE, R.DENTIST),
            (PRACTICE, R.ASSISTANT),
            (PRACTICE, R.COORDINATOR),
        },
        OPEN,
    ),
    "record try-in": ({(PRACTICE, R.DENTIST), (PRACTICE, R.ASSISTANT)}, {Stage.TRY_IN}),
    "record delivery": ({(PRACTICE, R.DENTIST), (PRACTICE, R.ASSISTANT)}, {Stage.DELIVERY}),
    "record follow-up": (_CHAIRSIDE, {Stage.RECALL}),
    "ask question": (_EVERYBODY - {(PRACTICE, R.FRONT_DESK)}, OPEN),
    "answer question": (_EVERYBODY - {(PRACTICE, R.FRONT_DESK)}, OPEN),
    "hold": (
        {
            (PRACTICE, R.DENTIST),
            (PRACTICE, R.COORDINATOR),
            (LAB, R.TECHNICIAN),
            (LAB, R.COORDINATOR),
        },
        OPEN,
    ),
    "assign": ({(side, R.COORDINATOR) for side in SIDES} | {(PRACTICE, R.DENTIST)}, OPEN),
    "ask for checks": (_EVERYBODY, OPEN),
    "withdraw as wrong patient": ({(PRACTICE, R.DENTIST)}, OPEN),
    "answer offers": (
        {(side, role) for side in (LAB, SCANS, MILL) for role in BENCH}
        | {(PRACTICE, R.DENTIST), (PRACTICE, R.ASSISTANT)}
        | {(PRACTICE, R.FRONT_DESK), (PRACTICE, R.COORDINATOR)},
        OPEN,
    ),
    "choose milling centre": (
        {(LAB, R.TECHNICIAN), (LAB, R.COORDINATOR)},
        {Stage.DESIGN, Stage.FABRICATION},
    ),
    "acknowledge cancellation": ({(LAB, R.TECHNICIAN), (LAB, R.COORDINATOR)}, OPEN),
    "link case": ({(PRACTICE, R.DENTIST)}, frozenset(Stage)),
    "erase patient": ({(PRACTICE, R.ADMINISTRATOR)}, frozenset(Stage)),
}

# Work at the bench that only the assigned member, or that side's coordinator, may write.
# Inspecting is not among it: another than the maker does it where there are two.
ASSIGNED_WORK = frozenset({"make design", "record parts"})


def areas_seen(side, roles):
    """The areas of a case that somebody with `roles` on `side` sees."""
    return frozenset().union(*(SEES.get((side, role), frozenset()) for role in roles))


def may_act(act, side, roles):
    """May somebody with `roles` on `side` do `act` at some stage?"""
    return any((side, role) in ACTS[act][0] for role in roles)


def is_time_for(act, stage):
    """Can `act` be done while the case stands at `stage`?"""
    return Stage(stage) in ACTS[act][1]


def may_move(move, side, roles):
    """May somebody with `roles` on `side` make `move`?

    The side counts too: a dentist of a laboratory's own staff approves nothing.
    """
    sides = {
        R.DENTIST: PRACTICE,
        R.ASSISTANT: PRACTICE,
        R.TECHNICIAN: LAB,
        R.COORDINATOR: LAB,
        R.SCAN_PROCESSOR: SCANS,
        R.MILLER: MILL,
    }
    return any(role in move.by and sides.get(role) == side for role in roles)
