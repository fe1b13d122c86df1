"""The scans the laboratory needs are there: working arch twice, opposing arch, bite, margins.

With scan bodies the working arch tells where the implants are, without them how the mucosa
runs. Splinted implants want a second, independent scan; whether it agrees is judged by a check
of its own. Common practice, no source.
"""

from casework.checks import Check, ask, stop
from orders.teeth import CODES, jaw_of

WITH_BODIES, WITHOUT = "working_arch_scan_bodies", "working_arch"
OTHER = {"upper": "lower", "lower": "upper"}


def run(facts, limits):
    files = [file for file in facts["files"] if file["state"] not in ("refused", "failed")]
    order = facts["order"]
    work = [code for code in (*order["sites"], *order["teeth"]) if code in CODES]
    if not work:
        yield stop("nothing_ordered")
        return
    for jaw in sorted({jaw_of(code) for code in work}):
        for role in (WITH_BODIES, WITHOUT):
            if not _of(files, role, jaw):
                yield stop(f"no_{role}", jaw)
        if not _of(files, "opposing_arch", OTHER[jaw]):
            yield stop("no_opposing_arch", OTHER[jaw])
    yield from _sites_shown(files, order["sites"])
    has_note = facts["bite"] is not None and facts["bite"]["jaws_aligned"]
    if not has_note and not _of(files, "bite_scan"):
        yield stop("no_bite")
    yield from _margins(files, order, facts["dentition"])
    if order["is_splinted"] and not _of(files, "second_scan"):
        yield ask("no_second_scan")


def _of(files, role, jaw=""):
    return [
        file
        for file in files
        if file["role"] == role and (not jaw or file["jaw"] in (jaw, "both"))
    ]


def _sites_shown(files, sites):
    """Where the files say which sites they show, all sites of the order must be among them."""
    shown = {site for file in _of(files, WITH_BODIES) for site in file["sites"]}
    for site in sites:
        if shown and site not in shown:
            yield ask("site_not_shown", site)


def _margins(files, order, dentition):
    prepared = set(dentition["prepared"]) if dentition else set()
    on_teeth = {
        unit["tooth"]
        for unit in order["units"]
        if unit.get("on") == "tooth" and unit["kind"] != "pontic"
    }
    shown = {site for file in _of(files, "margins") for site in file["sites"]}
    for tooth in order["teeth"]:
        if tooth in prepared | on_teeth and tooth not in shown:
            yield stop("no_margin", tooth)


CHECK = Check(
    title="The scans are complete",
    reads=("files", "order", "bite", "dentition"),
    run=run,
    sentences={
        "nothing_ordered": (
            "Neither an implant nor a unit is known, so the scans needed cannot be named.",
            "Record the implants, or order the units.",
        ),
        "no_working_arch_scan_bodies": (
            "There is no scan of the {subject} jaw with scan bodies.",
            "Scan the working arch with the scan bodies seated, and say what the file is.",
        ),
        "no_working_arch": (
            "There is no scan of the {subject} jaw without scan bodies.",
            "Scan the working arch with the mucosa open, and say what the file is.",
        ),
        "no_opposing_arch": (
            "There is no scan of the opposing arch ({subject} jaw).",
            "Scan it, and say what the file is.",
        ),
        "site_not_shown": (
            "No scan with scan bodies is said to show {subject}.",
            "Correct the sites on the file's page, scan it, or say in which file it is seen.",
        ),
        "no_bite": (
            "There is no bite scan, and the bite note does not say that the jaws are aligned.",
            "Scan the bite, or say in the bite note that the jaws came aligned.",
        ),
        "no_margin": (
            "{subject} is a prepared tooth of this order, but no file shows its margin.",
            "Send the prepared margin, or correct the teeth.",
        ),
        "no_second_scan": (
            "Implants are joined, and there is no second, independent scan of them.",
            "Scan a second time, or say how the positions were verified.",
        ),
    },
)
