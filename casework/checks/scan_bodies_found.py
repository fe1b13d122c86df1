"""As many scan bodies are in the scan as ordered, at the sites ordered, and each fits its form.

Over six scanners scan bodies deviated 21 to 35 µm from their forms (Michelinakis G et al. 2024,
abstract read); the bounds of 50 and 100 µm, and the share that must be seen, are chosen here.
A body that was not found is not known to be missing: it asks. One that fits no form stops.
"""

from casework.checks import (
    OF_VALUES,
    Check,
    against,
    ask,
    at_least,
    at_most,
    not_known,
    note,
    of,
    stop,
)

SCAN = "working_arch_scan_bodies"
WHATS = {"implant_pose": "position of the implant"}
BODIES = {
    "scan_body_origin": "position of the scan body",
    "scan_body_rotation": "rotation of the scan body",
}


def run(facts, limits):
    measured = facts["measured"]
    yield from _counted(measured, limits("scan_edge_to_find"))
    sites = _sites(measured)
    for row in of(measured, "scan_body_residual", "scan_body_covered", "scan_body_fitting"):
        yield from _one(row, sites.get(row["subject"], row["subject"]), limits)
    for row in of(measured, "implant_pose"):
        limit = limits("implant_pose_doubt")
        yield from at_most(row, limit, "unsure", what=WHATS["implant_pose"])
        yield from _other_form(row)
    for row in measured["results"]:
        if row["quantity"] == "scan_body_origin" and row["details"].get("also_fits"):
            others = ", ".join(row["details"]["also_fits"])
            own = row["details"]["form"]
            yield note(
                "fits_others", sites.get(row["subject"], row["subject"]), own=own, others=others
            )
    yield from not_known(measured, **WHATS)
    # A second scan is asked for places alone, so only a body at a site must show its turn;
    # where nobody asked for sites, every body of the working arch.
    if not any(row["quantity"] == "implant_pose" for row in measured["results"]):
        scans = tuple(f"{name}, " for name in _arch_scans(measured))
        subjects = (row["subject"] for row in measured["results"])
        sites = {subject: subject for subject in subjects if subject.startswith(scans)}
    at_sites = [
        row | {"subject": sites[row["subject"]]}
        for row in measured["results"]
        if row["subject"] in sites
    ]
    yield from not_known(measured | {"results": at_sites}, **BODIES)


def _counted(measured, coarsest):
    """Does the number found in the scans of the working arch agree with the order?"""
    scans = _arch_scans(measured)
    rows = [row for row in of(measured, "scan_bodies_found") if row["subject"] in scans]
    if not rows:
        return
    count = sum(int(row["value"]) for row in rows)
    told = len(measured["sites"]) or measured["expected"]
    ordered = told or 1  # whoever names a scan body's form expects one
    # Two scans of segments may show the same body.
    is_more = bool(told) and count > ordered and len(rows) == 1
    subject = ", ".join(row["subject"] for row in rows) if len(rows) < 3 else ""
    if count < ordered or is_more:
        numbers = {"measured": str(count), "limit": str(ordered), "source": "the order"}
        yield ask("fewer" if count < ordered else "more", subject, **numbers)
    if count < ordered:
        yield from _coarse(rows, coarsest)
    for row in rows:
        for doubt in row["details"]["doubtful"]:
            say = ask if count < ordered or not told else note
            yield say("like_one", row["subject"], because=doubt["because"])


def _arch_scans(measured):
    return {file["name"] for file in measured["files"] if file["role"] == SCAN}


def _coarse(rows, coarsest):
    """Scans in which a body may be missed for the length of their edges."""
    for row in rows:
        edge_mm = row["details"].get("edge_mm") or 0
        if edge_mm > coarsest.value:
            yield note("too_coarse", row["subject"], **against(edge_mm, coarsest))


def _sites(measured):
    """The site of each scan body that is assigned to one, by how its rows name it."""
    sites = {
        tuple(row["place_mm"]): row["subject"]
        for row in of(measured, "implant_pose")
        if row["place_mm"]
    }
    return {
        row["subject"]: sites[tuple(row["place_mm"])]
        for row in measured["results"]
        if row["quantity"] == "scan_body_origin" and tuple(row["place_mm"] or ()) in sites
    }


def _one(row, subject, limits):
    if row["quantity"] == "scan_body_residual":
        yield from _residual(row, subject, limits("scan_body_fit_rms"))
    elif row["quantity"] == "scan_body_covered":
        what, share = "share of the scan body that is seen", limits("scan_body_visible_share")
        yield from at_least(row, share, "covered_too_little", subject=subject, what=what)
    elif row["details"]["problem"]:
        yield ask("odd_points", subject, because=row["details"]["problem"])


def _other_form(row):
    """Does the body at a site show another form than the one that is recorded there?"""
    named, found = row["details"].get("named_form"), row["details"].get("form")
    if named and named != found and named not in row["details"].get("also_fits", ()):
        yield stop("other_form", row["subject"], named=named, found=found)


def _residual(row, subject, limit):
    what = "residual of the scan body against its form"
    worse = list(
        at_most(
            row, limit, "no_such_form", bound=limit.hard, subject=subject, what=what, say=stop
        )
    )
    yield from worse or at_most(row, limit, "fits_poorly", subject=subject, what=what)


CHECK = Check(
    title="Every scan body is found and fits its form",
    reads=("measured",),
    limits=(
        "scan_body_fit_rms",
        "scan_body_visible_share",
        "implant_pose_doubt",
        "scan_edge_to_find",
    ),
    run=run,
    version=5,
    sentences={
        **OF_VALUES,
        "fewer": (
            "Fewer scan bodies are found in the scans of the working arch ({subject}) than"
            " sites are ordered.",
            "Point at the missing one, scan again, or say how its position is known.",
        ),
        "too_coarse": (
            "The edges of {subject} are longer than those in which scan bodies are surely"
            " found.",
            "Export it again without thinning it out, or scan again.",
        ),
        "more": (
            "More scan bodies are found in the scan of the working arch ({subject}) than sites"
            " are ordered.",
            "Correct the order, or say what else stands there.",
        ),
        "like_one": (
            "Something like a scan body in {subject} is none that is named: {because}",
            "Correct which scan body was used, or say what stands there.",
        ),
        "no_such_form": (
            "The scan body at {subject} is not of the form that is named for it.",
            "Correct which scan body was used, or scan again with the right one.",
        ),
        "other_form": (
            "The scan body at {subject} is recorded as {named}, but the scan shows {found}.",
            "Correct which scan body stands there, or scan again with the right one.",
        ),
        "fits_others": (
            "The scan body at {subject} is taken for {own}; in this scan it fits {others} as"
            " well.",
            "See that the right one is recorded.",
        ),
        "fits_poorly": (
            "The scan body at {subject} fits its form worse than scanners usually reach.",
            "Look for wear, dirt or a poor scan, or say why it is good enough.",
        ),
        "covered_too_little": (
            "Too little of the scan body at {subject} is in the scan.",
            "Scan it again from all sides, or say why this is enough.",
        ),
        "odd_points": (
            "Not all of the scan body at {subject} is as its form: {because}",
            "Look at it, and say what it is.",
        ),
        "unsure": (
            "The position of the implant at {subject} is less sure than it should be.",
            "Scan the scan body again, or say why this is enough.",
        ),
    },
)
