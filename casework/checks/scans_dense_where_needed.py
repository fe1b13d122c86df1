"""At scan bodies, margins and contacts a scan is fine, whole and quiet enough.

A scan that is dense on the average can be coarse where it counts. Edges up to 0.25 mm near scan
bodies, noise up to 30 µm and 95 % of a margin line are chosen here (docs/limits.md). A scan
that is coarse as a whole is asked about by another check; here the places are noted then.
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
)

WHATS = {
    "region_edge": "length of the edges",
    "region_covered": "share that is scanned",
    "scan_noise": "noise",
}
REGION = " at "  # between the name of a scan and that of a place in it
ELSEWHERE = " elsewhere"  # how the rest of a scan is called
EDGE, WHOLE, NOISE, SHOWN = "scan_edge_near_body", "mesh_edge", "scan_noise", "region_shown"


def run(facts, limits):
    measured = facts["measured"]
    for row in of(measured, "scan_noise", "region_noise"):
        yield from at_most(row, limits(NOISE), "noisy", what=WHATS["scan_noise"])
    yield from _coarse(measured, limits)
    for row in of(measured, "region_hole_count", "region_covered"):
        if not row["subject"].endswith(ELSEWHERE):
            yield from _region(row, limits)
    # Of a place with few points the noise of the whole scan tells enough.
    yield from not_known(measured, **WHATS)


def _coarse(measured, limits):
    """One finding for each scan, with its coarsest place."""
    most, places = limits(EDGE), {}
    for row in of(measured, "region_edge"):
        scan, _at, place = row["subject"].partition(REGION)
        if place and row["value"] > most.value:
            places.setdefault(scan, []).append((row["value"], place, row))
    whole = {row["subject"]: row["value"] for row in of(measured, "scan_edge")}
    for scan, found in places.items():
        worst = max(found, key=lambda one: one[0])[2]
        is_asked = whole.get(scan, 0) > limits(WHOLE).value
        yield from at_most(
            worst, most, "coarse", say=note if is_asked else ask, subject=scan,
            places=", ".join(place for _value, place, _row in found),
        )  # fmt: skip


def _region(row, limits):
    if row["quantity"] == "region_hole_count":
        if row["value"]:
            span = measured_figure(row["details"]["longest_mm"], "mm")
            yield ask("hole", row["subject"], count=int(row["value"]), measured=span)
    # Of a scan body its own form tells better how much of it is seen.
    elif "places" in row["details"]:
        what = WHATS["region_covered"]
        yield from at_least(row, limits(SHOWN), "not_shown", what=what)


CHECK = Check(
    title="Scans are good where it matters",
    reads=("measured",),
    limits=(EDGE, WHOLE, NOISE, SHOWN),
    run=run,
    version=2,
    sentences={
        **OF_VALUES,
        "noisy": (
            "The surface trembles more than usual ({subject}).",
            "Scan again, or say why this is good enough.",
        ),
        "coarse": (
            "The surface of {subject} is coarse where it matters: {places}.",
            "Export it again without thinning it out there, or scan again.",
        ),
        "hole": (
            "The surface has {count} holes where it matters ({subject}).",
            "Scan again there, or say why nothing is missing.",
        ),
        "not_shown": (
            "Not all of what matters is in the scan ({subject}).",
            "Scan again there, or say why this is enough.",
        ),
    },
)
