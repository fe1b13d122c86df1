"""Bone, probing and the work itself are within the limits at the visits recorded.

Bone loss in the first year up to 1.5 mm (Albrektsson T et al. 1986, from memory); from 2 mm on
with bleeding it is a sign of disease, and without a baseline a bone level of 3 mm or probing of
6 mm with bleeding (workshops of 2011 and 2017, quoted in a thesis that was read). A limit does
not diagnose: the clinician does.
"""

from casework.checks import Check, against, ask, note


def run(facts, limits):
    delivery = facts["delivery"]
    since = delivery["on"] if delivery else None
    for site in facts["order"]["sites"]:
        here = [row for row in facts["readings"] if row["site"] == site]
        # Readings before the delivery tell of the implant's healing, not of the work.
        here = [row for row in here if since is None or row["measured_on"] >= since]
        bleeding = {
            row["measured_on"] for row in here if row["quantity"] == "bleeding" and row["held"]
        }
        yield from _probing(site, here, bleeding, limits("periimplantitis_nobaseline_pd"))
        yield from _bone(site, here, bleeding, limits)
        for row in here:
            if row["quantity"] in ("mobility", "pus") and row["held"]:
                yield ask(row["quantity"], site, day=row["measured_on"])
    yield from _work(facts["follow_ups"])


def _probing(site, here, bleeding, limit):
    for row in here:
        is_depth = row["quantity"] == "probing_mm" and row["value"] is not None
        if is_depth and row["value"] >= limit.value and row["measured_on"] in bleeding:
            yield ask(
                "deep",
                site,
                day=row["measured_on"],
                direction=row["direction"],
                **against(row["value"], limit),
            )


def _bone(site, here, bleeding, limits):
    rows = [r for r in here if r["quantity"] == "bone_level_mm" and r["value"] is not None]
    if not rows:
        yield note("bone_not_known", site)
    for direction in sorted({row["direction"] for row in rows}):
        levels = sorted(
            (row for row in rows if row["direction"] == direction),
            key=lambda row: row["measured_on"],
        )
        yield from _levels(site, direction, levels, bleeding, limits)


def _levels(site, direction, levels, bleeding, limits):
    last, day = levels[-1], levels[-1]["measured_on"]
    if len(levels) == 1:
        limit = limits("periimplantitis_nobaseline_bl")
        if last["value"] >= limit.value:
            marks = against(last["value"], limit)
            yield ask("level_low", site, direction=direction, day=day, **marks)
        return
    loss = last["value"] - levels[0]["value"]
    usual, sign = limits("bone_loss_year1"), limits("bone_loss_redflag")
    if loss >= sign.value and day in bleeding:
        yield ask(
            "loss_with_bleeding", site, direction=direction, day=day, **against(loss, sign)
        )
    elif loss > usual.value:
        yield ask("bone_loss", site, direction=direction, day=day, **against(loss, usual))


def _work(visits):
    for visit in visits:
        if visit["outcome"] == "complication":
            yield ask("complication", visit["name"])
        if visit["bite"] == "no":
            yield ask("bite", visit["name"])
        if visit["screws_tight"] == "no":
            yield ask("loose", visit["name"])
        if visit["chipping"] == "yes":
            yield ask("chipped", visit["name"])


CHECK = Check(
    title="Recall readings are within their limits",
    reads=("readings", "order", "follow_ups", "delivery"),
    limits=(
        "periimplantitis_nobaseline_pd",
        "periimplantitis_nobaseline_bl",
        "bone_loss_year1",
        "bone_loss_redflag",
    ),
    run=run,
    sentences={
        "deep": (
            "Deep probing with bleeding at {subject} ({direction}) on {day}.",
            "Say what was done; a complication opens a linked case.",
        ),
        "level_low": (
            "The bone level at {subject} ({direction}) on {day} is low, and there is no earlier"
            " one to compare it with.",
            "Say what was found and done.",
        ),
        "loss_with_bleeding": (
            "Bone was lost at {subject} ({direction}) since the baseline, with bleeding on"
            " {day}.",
            "Say what was done; a complication opens a linked case.",
        ),
        "bone_loss": (
            "Bone was lost at {subject} ({direction}) between the baseline and {day}.",
            "Say what was done; a complication opens a linked case.",
        ),
        "bone_not_known": (
            "The bone level at {subject} since the delivery is not known.",
            "Without a baseline later levels are judged by themselves.",
        ),
        "mobility": (
            "The implant or its work at {subject} was mobile on {day}.",
            "Say what was found and done.",
        ),
        "pus": (
            "Pus was seen at {subject} on {day}.",
            "Say what was found and done; a complication opens a linked case.",
        ),
        "complication": (
            "The visit after {subject} ended with a complication.",
            "Open a linked case for it, and name it here.",
        ),
        "bite": (
            "At the visit after {subject} the bite was not right.",
            "Say what was done about it.",
        ),
        "loose": (
            "At the visit after {subject} a screw was not tight.",
            "Say what was done about it.",
        ),
        "chipped": (
            "At the visit after {subject} something had chipped.",
            "Say what was done about it; a complication opens a linked case.",
        ),
    },
)
