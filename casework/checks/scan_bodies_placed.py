"""A scan body stands on every implant ordered; it fits, is counted, and is tightened as told.

Scan bodies wear with use and sink with torque: its maker's own values count. Where the part has
none, 5 N·cm is asked about, within 5 to 15 (Kim JH et al. J Adv Prosthodont 2020;12:307-315;
Diker E et al. Clin Implant Dent Relat Res 2023;25(2):419-425, abstracts read).
"""

from casework.checks import Check, against_range, ask, figure, is_outside, stop

OWN_RECORD = "the part's own record in the catalogue"
BY_HAND = "driver by hand"


def run(facts, limits):
    ordered = facts["order"]["sites"]
    implants = {implant["site"]: implant for implant in facts["implants"]}
    placed = {body["site"]: body for body in facts["scan_bodies"]}
    if not ordered:
        yield stop("no_sites")
    for site in ordered:
        if site not in placed:
            yield stop("missing", site)
            continue
        body = placed[site]
        yield from _fit(body, implants.get(site), _level(facts["prescription"], site))
        yield from _use(body)
        yield from _torque(body, limits("scan_body_torque"))
    for site in sorted(set(placed) - set(ordered)):
        yield stop("not_ordered", site)


def _level(prescription, site):
    return ((prescription or {}).get("sites") or {}).get(site, {}).get("level", "")


def _fit(body, implant, level):
    site, part = body["site"], body["part_number"]
    if implant is None:
        yield ask("fit_not_known", site, part=part)
        return
    if implant["placed_on"] and body["placed_on"] < implant["placed_on"]:
        yield stop(
            "before_implant", site, day=body["placed_on"], placed_on=implant["placed_on"]
        )
    known = all(one[name] for one in (body, implant) for name in ("connection", "platform"))
    fits = all(body[name] == implant[name] for name in ("connection", "platform"))
    if level == "intermediate abutment" and not (known and fits):
        yield ask("on_abutment", site, part=part)
    elif not known:
        yield ask("fit_not_known", site, part=part)
    elif not fits:
        yield stop(
            "does_not_fit",
            site,
            part=part,
            fits=f"{body['connection']}, {body['platform']}",
            implant=f"{implant['connection']}, {implant['platform']}",
        )


def _use(body):
    site, count, most = body["site"], body["use_count"], body["uses_max"]
    if not body["lot"]:
        yield ask("no_lot", site)
    if count is None:
        yield ask("uses_not_counted", site)
    elif most is not None and count > most:
        yield ask(
            "used_too_often",
            site,
            measured=f"{count} uses",
            limit=f"{most} uses",
            source=OWN_RECORD,
        )
    elif most is None and count > 1:
        yield ask("uses_max_not_known", site, count=count)


def _torque(body, usual):
    site, torque, told = body["site"], body["torque_ncm"], body["torque_told_ncm"]
    if body["tightened_how"] == BY_HAND and torque is None:
        yield ask("by_hand", site, source=usual.source)
    elif torque is None:
        yield ask("no_torque", site)
    elif told is not None and torque != told:
        marks = {"measured": figure(torque, "N·cm"), "limit": figure(told, "N·cm")}
        yield ask("other_torque", site, source=OWN_RECORD, **marks)
    elif told is None and is_outside(torque, usual):
        yield ask("odd_torque", site, **against_range(torque, usual))
    if not body["tightened_how"]:
        yield ask("how_not_said", site)


CHECK = Check(
    title="Scan bodies are placed and fit",
    reads=("scan_bodies", "implants", "order", "prescription"),
    limits=("scan_body_torque",),
    run=run,
    sentences={
        "no_sites": (
            "No implant site is known, so no scan body can be judged.",
            "Record the implants, or order the units.",
        ),
        "missing": (
            "No scan body is recorded at {subject}.",
            "Record part, lot, torque and the day it was placed.",
        ),
        "not_ordered": (
            "A scan body is recorded at {subject}, where no unit on an implant is ordered.",
            "Correct its site, take its record out, or order the unit.",
        ),
        "fit_not_known": (
            "Whether scan body {part} fits the implant at {subject} is not known: connection or"
            " platform of one of them is missing.",
            "Complete the record of the implant or of the part, or say how the fit is known.",
        ),
        "does_not_fit": (
            "Scan body {part} is made for {fits}; the implant at {subject} has {implant}.",
            "Use the scan body of that implant and scan again, or correct the record.",
        ),
        "on_abutment": (
            "Scan body {part} at {subject} stands on an intermediate abutment; its fit cannot"
            " be judged from the implant's record.",
            "Name the abutment and say that the scan body is made for it.",
        ),
        "before_implant": (
            "The scan body at {subject} was placed on {day}, says its record: before the"
            " implant ({placed_on}).",
            "Correct one of the two days.",
        ),
        "no_lot": (
            "The scan body at {subject} has no lot.",
            "Copy it from its package or from your own count, or say why it is not known.",
        ),
        "uses_not_counted": (
            "How often the scan body at {subject} was used is not recorded.",
            "Enter the count, this use included, or say how its wear was judged.",
        ),
        "used_too_often": (
            "The scan body at {subject} was used more often than its maker allows.",
            "Use a new one and scan again, or say why this scan stands.",
        ),
        "uses_max_not_known": (
            "The scan body at {subject} was used {count} times; how often it may be used is not"
            " in its record.",
            "Look it up in its instructions, and say what they allow.",
        ),
        "by_hand": (
            "The scan body at {subject} was tightened by hand, without a torque.",
            "By hand it may stand too high or sink: say how its seat was judged.",
        ),
        "no_torque": (
            "The torque of the scan body at {subject} is not recorded.",
            "Record it, or say how it was tightened.",
        ),
        "other_torque": (
            "The scan body at {subject} was tightened to another torque than its maker's.",
            "Correct the entry, tighten and scan again, or say why.",
        ),
        "odd_torque": (
            "The scan body at {subject} was tightened to an unusual torque; its maker's value"
            " is not in its record.",
            "Look it up in its instructions, and say what was done.",
        ),
        "how_not_said": (
            "With what the scan body at {subject} was tightened is not recorded.",
            "Choose torque wrench or driver by hand.",
        ),
    },
)
