"""Is each surface sound: pieces, holes, edges, colour, noise?"""

from casework.measure.borders import holes_of
from casework.measure.colour_spread import colour_of
from casework.measure.integrity import inspect
from casework.measure.noise import noise_of
from casework.measure.results import Quantity
from casework.measure.sets.plan import Outcome, Planned
from casework.measure.sets.told import SCANS

LARGEST_SIDE = Quantity(
    "scan_largest_side", "largest side of the surface", "mm", "extents of its corners"
)
OPENINGS = Quantity(
    "part_opening_count", "openings of a part's surface, which has none where it is closed", "",
    "edges of one triangle that hang together through their corners",
)  # fmt: skip
PIECES = Quantity(
    "scan_piece_count", "separate pieces", "", "triangles that hang together through corners"
)
EDGE = Quantity("scan_edge", "median length of the edges", "mm", "median of the distinct edges")
QUANTITIES = (LARGEST_SIDE, OPENINGS, PIECES, EDGE)
VERSION = "2"


def plan(told):
    for file in told.files:
        if file.role == "earlier_scan":
            continue  # judged in its own time
        yield Planned("scan", VERSION, file.name, (file.name,), _run, {"role": file.role})


def _run(work, planned):
    mesh = work.meshes.as_filed(planned.subject)
    report = inspect(mesh)
    name = planned.subject
    lengths = report.edge_length_mm
    is_scan = planned.told["role"] in SCANS
    results = (
        LARGEST_SIDE.of(name, max(report.extents_mm), extents_mm=list(report.extents_mm)),
        holes_of(mesh, subject=name) if is_scan else _openings(name, report),
        PIECES.of(name, report.island_count),
        EDGE.of(name, lengths.median, p95_mm=lengths.p95)
        if lengths
        else EDGE.not_known(name, "The surface has no edge that counts."),
        *(_of_scan(name, mesh) if is_scan else ()),
    )
    return Outcome(results, {"integrity": report.as_dict(), "format": mesh.format})


def _of_scan(name, mesh):
    return noise_of(name, mesh.vertices, mesh.faces), colour_of(mesh, subject=name)


def _openings(name, report):
    longest = max(report.holes, key=lambda one: one.length_mm, default=None)
    return OPENINGS.of(
        name,
        report.hole_count,
        longest.centre_mm if longest else None,
        longest_mm=longest.length_mm if longest else 0.0,
        is_closed=report.is_closed,
    )
