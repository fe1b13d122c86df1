"""What the work will have room for is known from the scans, before retention is chosen.

Height from platform to opposing teeth 5 mm for a screw and 7 mm for cement, width 5 mm a unit:
common practice, no source. Turned channels were tested to 25° (Eur J Dent 2022;16(3):488-499,
read). How near a driver may come to teeth is chosen here (docs/limits.md).
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

SCREW, CEMENT, WIDTH = "room_height_screw", "room_height_cement", "room_width"
PATH, TURN = "driver_path_clearance", "screw_channel_angle_max"
UNWANTED = ("labial", "buccal", "incisal")
MADE = ("abutment", "bridge", "crown")
HEIGHT = "height from the platform to the opposing jaw"
WHATS = {
    "room_height_least": HEIGHT,
    "axis_exit": "side toward which the implant's axis points",
}
GAP = {"unit_width": "width for each unit"}
DRIVER = {"driver_path": "clearance of the driver to teeth and opposing jaw"}


def run(facts, limits):
    measured = facts["measured"]
    for row in of(measured, "room_height_least"):
        low = list(at_least(row, limits(SCREW), "low", what=HEIGHT))
        yield from low or at_least(row, limits(CEMENT), "low_for_cement", say=note, what=HEIGHT)
    for row in of(measured, "unit_width"):
        yield from at_least(row, limits(WIDTH), "narrow", what=GAP["unit_width"])
    for row in of(measured, "axis_exit"):
        yield from _axis(row, limits(TURN))
    # Once a part is designed at a site, its own check judges screw and driver there.
    before = [
        row for row in measured["results"] if not part_at(measured, row["subject"], *MADE)
    ]
    measured = measured | {"results": before}
    yield from judge_driver(measured, limits(PATH))
    yield from not_known(measured, **WHATS)
    # Behind the last tooth no gap has a width, even where nothing else of a step is known.
    yield from not_known(measured | {"steps": []}, note, **GAP)
    yield from not_known(measured, note, **DRIVER)


def _axis(row, most):
    region = row["details"]["region"]
    if region in UNWANTED:
        yield note("points_out", row["subject"], region=region)
    what = "angle of the implant's axis"
    yield from at_most(row, most, "leans", say=note, what=what)


def judge_driver(measured, least):
    """Say where the driver meets teeth or the opposing jaw, or comes near them."""
    for row in of(measured, "driver_path"):
        at = row["details"]["at"]
        if row["value"] < 0:
            shown = measured_figure(row["value"], row["unit"])
            yield ask("driver_meets", row["subject"], measured=shown, at=at)
        else:
            what = DRIVER["driver_path"]
            yield from at_least(row, least, "driver_near", what=what, at=at)


OF_DRIVERS = {
    "driver_meets": (
        "The driver at {subject} meets {at} on its way to the screw.",
        "Choose a shorter driver, a turned channel or cement, or say how it gets in.",
    ),
    "driver_near": (
        "The driver at {subject} comes near to {at} on its way to the screw.",
        "See whether the mouth opens far enough, or say why it gets in.",
    ),
}
CHECK = Check(
    title="The room is known",
    reads=("measured",),
    limits=(SCREW, CEMENT, WIDTH, PATH, TURN),
    run=run,
    sentences={
        **OF_VALUES,
        **OF_DRIVERS,
        "low": (
            "There is little height at {subject} between platform and opposing jaw.",
            "Say how the work will be held and what gives room.",
        ),
        "low_for_cement": (
            "The height at {subject} is little for a cemented post.",
            "Choose a screw, or see that the post holds.",
        ),
        "narrow": (
            "The gap at {subject} is narrow for its units.",
            "Say what gives room, or order other units.",
        ),
        "points_out": (
            "The implant's axis at {subject} points to the {region} side: a straight screw"
            " channel would come out there.",
            "Think of it when retention is chosen.",
        ),
        "leans": (
            "The implant's axis at {subject} leans more than a turned channel makes up for.",
            "Think of it when retention is chosen.",
        ),
    },
)
