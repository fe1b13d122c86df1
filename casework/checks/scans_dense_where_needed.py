"""At scan bodies, margins and contacts a scan is fine, whole and quiet enough.

A scan that is dense on the average can be coarse where it counts. Edges up to 0.25 mm near scan
bodies, noise up to 30 µm and 95 % of a margin line are chosen here (docs/limits.md).
"""

from casework.checks import (
    OF_VALUES,
    Check,
    ask,
    at_least,
    at_most,
    measured_figure,
    not_known,
    of,
)

WHATS = {
    "region_edge": "length of the edges",
    "region_covered": "share that is scanned",
    "region_noise": "noise",
    "scan_noise": "noise",
}
ELSEWHERE = " elsewhere"  # how the rest of a scan is called
EDGE, NOISE, SHOWN = "scan_edge_near_body", "scan_noise", "region_shown"


def run(facts, limits):
    measured = facts["measured"]
    for row in of(measured, "scan_noise", "region_noise"):
        yield from at_most(row, limits(NOISE), "noisy", what=WHATS["scan_noise"])
    for row in of(measured, "region_edge", "region_hole_count", "region_covered"):
        if not row["subject"].endswith(ELSEWHERE):
            yield from _region(row, limits)
    yield from not_known(measured, **WHATS)


def _region(row, limits):
    if row["quantity"] == "region_edge":
        yield from at_most(row, limits(EDGE), "coarse", what=WHATS["region_edge"])
    elif row["quantity"] == "region_hole_count":
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
    limits=(EDGE, NOISE, SHOWN),
    run=run,
    sentences={
        **OF_VALUES,
        "noisy": (
            "The surface trembles more than usual ({subject}).",
            "Scan again, or say why this is good enough.",
        ),
        "coarse": (
            "The surface is coarse where it matters ({subject}).",
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
