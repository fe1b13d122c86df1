"""Is each surface sound: pieces, holes, edges, colour, noise?"""

from casework.measure.integrity import METHOD, inspect
from casework.measure.results import Quantity
from casework.measure.sets.plan import Outcome, Planned

LARGEST_SIDE = Quantity(
    "scan_largest_side", "largest side of the surface", "mm", "extents of its corners"
)
HOLES = Quantity(
    "scan_hole_count", "borders, the rim of an open surface among them", "",
    "edges of one triangle that hang together through their corners",
)  # fmt: skip
PIECES = Quantity(
    "scan_piece_count", "separate pieces", "", "triangles that hang together through corners"
)
EDGE = Quantity("scan_edge", "median length of the edges", "mm", "median of the distinct edges")
QUANTITIES = (LARGEST_SIDE, HOLES, PIECES, EDGE)


def plan(told):
    for file in told.files:
        if file.role == "earlier_scan":
            continue  # judged in its own time
        yield Planned("scan", METHOD, file.name, (file.name,), _run, {"role": file.role})


def _run(work, planned):
    mesh = work.meshes.as_filed(planned.subject)
    report = inspect(mesh)
    name = planned.subject
    lengths = report.edge_length_mm
    hole = max(report.holes, key=lambda one: one.length_mm) if report.holes else None
    results = (
        LARGEST_SIDE.of(name, max(report.extents_mm), extents_mm=list(report.extents_mm)),
        HOLES.of(
            name,
            report.hole_count,
            hole.centre_mm if hole else None,
            longest_mm=hole.length_mm if hole else 0.0,
            is_closed=report.is_closed,
        ),
        PIECES.of(name, report.island_count),
        EDGE.of(name, lengths.median, p95_mm=lengths.p95)
        if lengths
        else EDGE.not_known(name, "The surface has no edge that counts."),
    )
    return Outcome(results, {"integrity": report.as_dict(), "format": mesh.format})
