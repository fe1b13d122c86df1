"""A scan is true enough over the implants that one piece joins.

How well a pose fits the scan says nothing of how far the scan is from the mouth. Published
errors: 10 µm over two implants, 104 over four, 55 to 87 over six (Anitua E et al. 2025; a study
of 2024 on six implants; abstracts read); misfit up to 100 µm is named as acceptable (common
practice, no source; no threshold is proven).
"""

from casework.checks import Check, ask, figure, note
from casework.measure.sets.order import RIGHT_TO_LEFT

# The row that speaks of so many implants and more; an error does not shrink with the span.
BY_COUNT = (
    (2, "two_implant_trueness"),
    (3, "four_implant_trueness"),
    (6, "six_implant_trueness"),
)
FIT = "passive_fit"
JOINED = ("retainer", "pontic")


def run(facts, limits):
    measured = facts["measured"]
    if not any(row["quantity"] == "scan_bodies_found" for row in measured["results"]):
        return
    fit = limits(FIT)
    for implants in pieces(measured):
        errors = [limits(name) for least, name in BY_COUNT if len(implants) >= least]
        if errors:
            error = max(errors, key=lambda row: row.high or row.low)
            most = error.high or error.low
            say, code = (note, "expected") if most <= fit.value else (ask, "beyond_fit")
            yield say(
                code,
                "-".join([implants[0], implants[-1]]),
                measured=figure(most, error.unit),
                limit=figure(fit.value, fit.unit),
                source=fit.source,
                count=len(implants),
                seen=error.source,
            )


def pieces(measured):
    """The implants of each piece: of a bridge that is designed, else of units in a row."""
    standing = set(measured["sites"])
    bridges = [file["sites"] for file in measured["files"] if file["role"] == "bridge"]
    for sites in bridges or _rows_of_units(measured["units"]):
        implants = [site for site in sites if site in standing]
        if implants:
            yield implants


def _rows_of_units(units):
    joined = {unit["tooth"] for unit in units if unit["kind"] in JOINED}
    for arch in RIGHT_TO_LEFT.values():
        row = []
        for tooth in [*arch, ""]:
            if tooth in joined:
                row.append(tooth)
            elif row:
                yield row
                row = []


CHECK = Check(
    title="The scan is true enough for its span",
    reads=("measured",),
    limits=(FIT, *(name for _least, name in BY_COUNT)),
    run=run,
    sentences={
        "expected": (
            "Over the {count} implants {subject} a scan can be off the mouth by about as much"
            " as measured in {seen}, however well each scan body fits.",
            "Verify the fit at the try-in with one screw.",
        ),
        "beyond_fit": (
            "Over the {count} implants {subject} a scan can be off the mouth by more than work"
            " in one piece allows ({seen}).",
            "Hold a second, independent scan or a rigid index against it, or say why one piece"
            " can be made on this scan.",
        ),
    },
)
