"""The days of the scans agree with the implants and scan bodies they show.

A scan older than the scan body on it shows another one. Common practice, no source.
"""

from casework.checks import Check, ask, file_words, note, stop
from casework.checks.scans_complete import WITH_BODIES, WITHOUT

SCAN_BODIES_ON = (WITH_BODIES, "second_scan")
ONE_SESSION = (WITH_BODIES, WITHOUT, "opposing_arch", "bite_scan")


def run(facts, limits):
    ordered = facts["order"]["sites"]
    placed = {
        row["site"]: row["placed_on"] for row in facts["implants"] if row["site"] in ordered
    }
    bodies = {
        row["site"]: row["placed_on"] for row in facts["scan_bodies"] if row["site"] in ordered
    }
    for file in facts["files"]:
        subject, day = file_words(file["number"]), file["taken_on"]
        if file["role"] in (*SCAN_BODIES_ON, WITHOUT):
            if day is None:
                yield ask("day_not_known", subject)
            else:
                yield from _against(file, placed, "before_implant")
        if file["role"] in SCAN_BODIES_ON and day is not None:
            yield from _against(file, bodies, "before_scan_body")
        if day is not None and day > file["received_on"]:
            yield stop("after_arrival", subject, day=day, received_on=file["received_on"])
    yield from _one_day(facts["files"])


def _against(file, days, code):
    """Days of the sites the file shows; of all sites where it does not say which."""
    for site, day in sorted(days.items()):
        shown = not file["sites"] or site in file["sites"]
        if shown and day is not None and file["taken_on"] < day:
            yield stop(
                code, file_words(file["number"]), site=site, day=file["taken_on"], placed_on=day
            )


def _one_day(files):
    days = {
        file["taken_on"]
        for file in files
        if file["role"] in ONE_SESSION and file["taken_on"] is not None
    }
    if len(days) > 1:
        yield note("several_days", days=", ".join(day.isoformat() for day in sorted(days)))


CHECK = Check(
    title="Days of the scans agree",
    reads=("files", "scan_bodies", "implants", "order"),
    run=run,
    sentences={
        "day_not_known": (
            "On which day the {subject} was scanned is not known.",
            "Say it on the file's page, or say how it is known to show these scan bodies.",
        ),
        "before_implant": (
            "The {subject} is of {day}, before the implant at ISO {site} was placed on"
            " {placed_on}.",
            "Choose the right scan, or correct the days.",
        ),
        "before_scan_body": (
            "The {subject} is of {day}, before the scan body at ISO {site} was placed on"
            " {placed_on}.",
            "Choose the right scan, or correct the days.",
        ),
        "after_arrival": (
            "The {subject} arrived on {received_on} but is said to be scanned on {day}.",
            "Correct the day on the file's page.",
        ),
        "several_days": (
            "The scans are of several days: {days}.",
            "Tissue and bite may have changed between them.",
        ),
    },
)
