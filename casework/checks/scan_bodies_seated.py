"""Every scan body was seen to be seated: on a radiograph, or by a clinician who says how.

A scan body that stands off by a tenth of a millimetre moves the whole work. The radiograph must
be dated on or after the day the scan body was placed and not before the implant; one may answer
for several sites. An exposure needs its own justification: where the connection can be seen,
the clinician's stated reason takes its place. Common practice, no source.
"""

from casework.checks import Check, ask, file_words, stop


def run(facts, limits):
    files = {file["number"]: file for file in facts["files"]}
    implants = {implant["site"]: implant for implant in facts["implants"]}
    for body in facts["scan_bodies"]:
        site = body["site"]
        if site not in facts["order"]["sites"]:
            continue
        if body["radiograph_number"] is not None:
            file = files.get(body["radiograph_number"])
            yield from _radiograph(body, file, implants.get(site))
        elif not body["seating_reason"]:
            yield stop("not_verified", site)
        elif not body["seating_by"]:
            yield stop("nobody_named", site)
        else:
            yield ask("by_reason", site, by=body["seating_by"], reason=body["seating_reason"])


def _radiograph(body, file, implant):
    site, named = body["site"], file_words(body["radiograph_number"])
    if file is None:
        yield stop("replaced", site, file=named)
        return
    if file["role"] != "radiograph":
        yield stop("no_radiograph", site, file=named)
    elif site not in file["sites"]:
        yield stop("other_site", site, file=named)
    if file["state"] in ("refused", "failed"):
        yield stop("unreadable", site, file=named)
    day, placed_on = file["taken_on"], implant and implant["placed_on"]
    if day is None:
        yield stop("undated", site, file=named)
    elif day < body["placed_on"]:
        yield stop("too_old", site, file=named, day=day, placed_on=body["placed_on"])
    elif placed_on and day < placed_on:
        yield stop("before_implant", site, file=named, day=day, placed_on=placed_on)


CHECK = Check(
    title="Scan bodies are seated",
    reads=("scan_bodies", "files", "implants", "order"),
    run=run,
    sentences={
        "not_verified": (
            "Nothing shows that the scan body at {subject} was seated.",
            "Choose the radiograph that shows it, or have the clinician say how it was seen.",
        ),
        "nobody_named": (
            "A reason is given for the seat of the scan body at {subject}, but by nobody.",
            "Name the clinician who saw it.",
        ),
        "by_reason": (
            "No radiograph shows the seat of the scan body at {subject}. {by} states: {reason}",
            "Confirm that this is enough.",
        ),
        "replaced": (
            "The radiograph of the scan body at {subject} ({file}) was replaced or taken out.",
            "Choose the radiograph that counts.",
        ),
        "no_radiograph": (
            "What is named as radiograph of the scan body at {subject} ({file}) is none.",
            "Choose a radiograph, or correct what the file is.",
        ),
        "other_site": (
            "The radiograph named for the scan body at {subject} ({file}) is not of that site.",
            "Choose another one, or correct the sites on the file's page.",
        ),
        "unreadable": (
            "The radiograph of the scan body at {subject} ({file}) cannot be read.",
            "Send it again, or choose another one.",
        ),
        "undated": (
            "On which day the radiograph of the scan body at {subject} ({file}) was taken is"
            " not known.",
            "Say it on the file's page: only a later radiograph shows this scan body.",
        ),
        "too_old": (
            "The radiograph of the scan body at {subject} ({file}) is of {day}; the scan body"
            " was placed on {placed_on}.",
            "Choose one taken afterwards, or have the clinician say how the seat was seen.",
        ),
        "before_implant": (
            "The radiograph of the scan body at {subject} ({file}) is of {day}, before the"
            " implant was placed on {placed_on}.",
            "Choose the right radiograph, or correct the days.",
        ),
    },
)
