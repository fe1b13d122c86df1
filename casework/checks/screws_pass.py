"""The screw reaches its seat, the driver reaches the screw, and the channel comes out well.

Clearance of a driver 0.1 to 0.3 mm, 0.2 usual: common practice, no source. Turned channels were
tested to 25° (Eur J Dent 2022;16(3):488-499, read). How near to its seat a head must come is
chosen here (docs/limits.md).
"""

from casework.checks import (
    OF_VALUES,
    Check,
    ask,
    at_least,
    at_most,
    measured_figure,
    not_known,
    note,
    of,
    part_at,
)
from casework.checks.room_known import DRIVER, MADE, OF_DRIVERS, PATH, judge_driver

WHATS = {
    "screw_channel_radius": "screw channel",
    "screw_seat_gap": "height of the screw's head above its seat",
    "screw_head_clearance": "clearance of the screw's head",
    "driver_clearance": "clearance of the driver",
}
EXIT = {"channel_exit": "side on which the channel comes out"}
SEAT, CLEAR, TURN = "seat_reached", "driver_radial_clearance", "screw_channel_angle_max"
UNWANTED = ("labial", "buccal", "incisal")


def run(facts, limits):
    measured = facts["measured"]
    blocked = set()
    for row in of(measured, "screw_channel_radius"):
        if row["details"]["is_blocked"]:
            blocked.add(row["subject"])
            yield ask("blocked", row["subject"], part=row["details"]["part"])
    # In a blocked channel nothing else has room either.
    said = [row for row in measured["results"] if row["subject"] not in blocked]
    measured = measured | {"results": said}
    for row in of(measured, "screw_seat_gap"):
        yield from _seat(row, limits(SEAT))
    clear = limits(CLEAR)
    for row in of(measured, "screw_head_clearance"):
        yield from _clearance(row, clear, "head_stuck", "tight_head")
    for row in of(measured, "driver_clearance"):
        tight = list(_clearance(row, clear, "driver_stuck", "tight_driver"))
        what = WHATS["driver_clearance"]
        yield from tight or at_least(row, clear, "snug_driver", say=note, what=what)
    yield from _exits(measured, limits(TURN))
    designed = [row for row in said if part_at(measured, row["subject"], *MADE)]
    yield from judge_driver(measured | {"results": designed}, limits(PATH))
    yield from not_known(measured | {"results": designed}, **DRIVER)
    yield from not_known(measured, **WHATS)
    yield from not_known(measured, note, **EXIT)


def _seat(row, limit):
    what = WHATS["screw_seat_gap"]
    yield from at_most(row, limit, "not_seated", what=what)
    yield from at_least(row, limit, "sinks", bound=-limit.value, what=what)


def _clearance(row, limit, stuck, tight):
    what = WHATS[row["quantity"]]
    if row["value"] < 0:
        yield ask(stuck, row["subject"], measured=measured_figure(row["value"], row["unit"]))
    else:
        yield from at_least(row, limit, tight, bound=limit.low, what=what)


def _exits(measured, most):
    """Where channels come out, and by how much one that comes out badly would have to turn."""
    turns = {row["subject"]: row for row in of(measured, "channel_turn")}
    for row in of(measured, "channel_exit"):
        region, turn = row["details"]["region"], turns.get(row["subject"])
        if region not in UNWANTED:
            continue
        yield ask("comes_out", row["subject"], region=region)
        if turn:
            what = "angle by which the channel must turn"
            yield from at_most(turn, most, "turns_too_far", what=what)


CHECK = Check(
    title="Screw and driver pass",
    reads=("measured",),
    limits=(SEAT, CLEAR, TURN, PATH),
    run=run,
    sentences={
        **OF_VALUES,
        **OF_DRIVERS,
        "blocked": (
            "The screw channel at {subject} is blocked by {part}.",
            "Open it in the design, or say how the screw gets in.",
        ),
        "not_seated": (
            "The head of the screw at {subject} does not reach its seat.",
            "Give it room in the design, or name another screw.",
        ),
        "sinks": (
            "The head of the screw at {subject} goes deeper than its seat is said to be.",
            "Compare the seat with the screw's drawing; a head that sinks loses its length.",
        ),
        "head_stuck": (
            "The head of the screw at {subject} does not pass through the channel.",
            "Widen the channel, or name another screw.",
        ),
        "tight_head": (
            "The head of the screw at {subject} passes with less room than usual.",
            "Widen the channel, or say why it is enough.",
        ),
        "driver_stuck": (
            "The driver does not pass through the channel at {subject}.",
            "Widen the channel, or name another driver.",
        ),
        "tight_driver": (
            "The driver at {subject} has hardly any room in the channel.",
            "Widen the channel, or say why it is enough.",
        ),
        "snug_driver": (
            "The driver at {subject} has a little less room in the channel than usual.",
            "Try it in the made part.",
        ),
        "comes_out": (
            "The screw channel at {subject} comes out on the {region} side.",
            "Turn the channel, choose cement, or say that it is accepted there.",
        ),
        "turns_too_far": (
            "To come out where it is wanted, the channel at {subject} must turn too far.",
            "Choose an angled intermediate abutment or cement, or say why it can.",
        ),
    },
)
