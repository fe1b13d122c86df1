"""Every screw left in the mouth has its part and lot, and was tightened twice to its own value.

Preload settles: the second tightening follows about ten minutes after the first (J Oral
Implantol 2002;28(2):67, abstract read; a later test found two minutes best, J Oral Implantol
2020;46(1):13). No torque is a default across systems: the part's own record counts.
"""

from casework.checks import Check, against, ask, figure, stop


def run(facts, limits):
    by_site = {row["site"]: row for row in facts["screws"]}
    for site in facts["order"]["sites"]:
        row = by_site.get(site)
        if row is None:
            yield stop("not_recorded", site)
            continue
        sent = [
            part
            for part in facts["parts"]
            if part["kind"] == "retaining screw" and site in part["sites"]
        ]
        yield from _judge(site, row, limits)
        yield from _identity(site, row, [part["lot"] for part in sent if part["lot"]])


def _identity(site, row, lots_sent):
    if row["component_kind"] != "retaining screw":
        yield stop("wrong_part", site, kind=row["component_kind"])
    if not row["lot"]:
        yield stop("no_lot", site)
    elif lots_sent and row["lot"] not in lots_sent:
        yield ask("other_lot", site, lot=row["lot"], sent=", ".join(lots_sent))


def _judge(site, row, limits):
    if not row["was_new"]:
        yield ask("used_screw", site)
    told = row["torque_told_ncm"]
    if told is None:
        yield ask("torque_not_told", site)
    for name, which in (("torque_ncm", "first"), ("second_torque_ncm", "second")):
        value = row[name]
        if value is None:
            yield stop("no_torque" if name == "torque_ncm" else "not_retightened", site)
        elif told is not None and value != told:
            marks = {"measured": figure(value, "N·cm"), "limit": figure(told, "N·cm")}
            source = "the part's own record in the catalogue"
            yield ask("other_torque", site, source=source, which=which, **marks)
    wait = limits("retighten_wait")
    if row["tightened_at"] and row["second_at"]:
        minutes = (row["second_at"] - row["tightened_at"]).total_seconds() // 60
        if minutes < wait.value:
            yield ask("too_soon", site, **against(int(minutes), wait))
    elif row["torque_ncm"] is not None and row["second_torque_ncm"] is not None:
        yield ask("times_not_known", site)


CHECK = Check(
    title="Screws are tightened and recorded",
    reads=("screws", "order", "parts"),
    limits=("retighten_wait",),
    run=run,
    sentences={
        "not_recorded": (
            "No screw is recorded at {subject}.",
            "Record part, lot and both torques.",
        ),
        "wrong_part": (
            "What is recorded at {subject} is a {kind}, not the retaining screw left in the"
            " mouth.",
            "Leave the new, sealed screw and record that one.",
        ),
        "other_lot": (
            "The screw at {subject} is of lot {lot}; sent was {sent}.",
            "Correct the entry, or say where this screw comes from.",
        ),
        "times_not_known": (
            "When the screw at {subject} was tightened is not recorded.",
            "Enter both times, or say how long the wait was.",
        ),
        "no_lot": ("The screw at {subject} has no lot.", "Copy it from the package."),
        "used_screw": (
            "The screw at {subject} is not new.",
            "Use the sealed final screw, or say why this one stays.",
        ),
        "torque_not_told": (
            "The torque of the screw at {subject} is not in its record.",
            "Look it up in the part's own instructions, and say what you used.",
        ),
        "no_torque": ("The screw at {subject} has no torque.", "Record it."),
        "not_retightened": (
            "The screw at {subject} was not tightened a second time.",
            "Tighten it again to the same value and record it.",
        ),
        "other_torque": (
            "The screw at {subject} was tightened to another value than its own ({which}).",
            "Correct the entry, or say why.",
        ),
        "too_soon": (
            "The screw at {subject} was tightened again too soon.",
            "Wait, tighten again and record the time; or say why.",
        ),
    },
)
