"""Which scan bodies are in each scan, and where does each stand?"""

import numpy as np

from casework.measure.results import Measured
from casework.measure.scan_bodies.finding import find_scan_bodies
from casework.measure.scan_bodies.forms import form_from_dict, form_of_mesh
from casework.measure.scan_bodies.telling import FOUND, as_measured
from casework.measure.sets.plan import NotTold, Outcome, Planned, unmeasured

VERSION = "8"
INSIDE_OUT = (
    "The surface of the scan is turned inside out: its scan bodies are found once it is turned."
    " Export it again with its outside outward."
)
ARCH_POINTS = 400  # of a scan that tell the order of bodies along its arch
SCANS = ("working_arch_scan_bodies", "second_scan")


def shows_bodies(told, file):
    """Is a file a scan of the scan bodies, or the raw scan of one?"""
    of = told.file(file.of) if file.role == "raw_scan" else None
    return file.role in SCANS or (of is not None and of.role in SCANS)


def plan(told):
    for file in told.files:
        if not shows_bodies(told, file):
            continue
        if not told.forms:
            yield NotTold(
                "scan_bodies", file.name,
                f"The form of the scan bodies in {file.name} is not told: give their dimensions"
                " or a mesh, in the catalogue or in the set.",
            )  # fmt: skip
            continue
        near = [site.near_mm for site in told.sites if site.near_mm is not None]
        is_pointed = file.role == SCANS[0] and near and len(near) == len(told.sites)
        yield Planned(
            "scan_bodies", VERSION, file.name, (file.name,), _run,
            {"forms": told.forms, "near_mm": near if is_pointed else []},
        )  # fmt: skip


def _run(work, planned):
    forms = {}
    for name, row in planned.told["forms"].items():
        try:
            forms[name] = _form(work, row)
        except ValueError as wrong:
            return unmeasured(planned, f"The form of the scan body {name}: {wrong}")
    mesh, near = work.mesh(planned.subject), planned.told["near_mm"]
    bodies = find_scan_bodies(mesh.vertices, mesh.faces, forms, near or None)
    if not bodies.found and _is_inside_out(mesh, forms, near):
        return unmeasured(planned, INSIDE_OUT)
    doubtful = [
        {
            "place_mm": one.place_mm.tolist(),
            "diameter_mm": float(one.diameter_mm),
            "because": one.because,
        }
        for one in bodies.doubtful
    ]
    results: list[Measured] = [
        FOUND.of(
            planned.subject,
            len(bodies.found),
            doubtful=doubtful,
            left_out=len(bodies.dropped),
            edge_mm=_edge_mm(mesh),
        )
    ]
    handed = []
    for place, found in enumerate(bodies.found, 1):
        results += as_measured(found, f"{planned.subject}, scan body {place}")
        handed.append(
            {
                "number": place,
                "form": found.form,
                "also_fits": list(found.also_fits),
                "height_mm": forms[found.form].height_mm,
                "reach_mm": forms[found.form].reach_mm,
                "origin_mm": found.pose.origin_mm,
                "axis": found.pose.axis,
                "toward": found.pose.toward,
                "origin_95_mm": _doubt_mm(found, forms[found.form]),
                "axis_95_deg": found.axis_95_deg,
                "rotation_known": not found.rotation_because,
                "height_known": not found.height_because,
            }
        )
    some = mesh.vertices[:: max(1, len(mesh.vertices) // ARCH_POINTS)]
    return Outcome(tuple(results), {"found": handed, "arch_mm": np.round(some, 1)})


def _edge_mm(mesh):
    """The median length of the first edges of the triangles."""
    first, second = mesh.vertices[mesh.faces[:, 0]], mesh.vertices[mesh.faces[:, 1]]
    return float(np.median(np.linalg.norm(second - first, axis=1)))


def _is_inside_out(mesh, forms, near):
    """Are the scan bodies there once the scan is turned? Asked only where none is found."""
    return bool(find_scan_bodies(mesh.vertices, mesh.faces[:, ::-1], forms, near or None).found)


def _doubt_mm(found, form):
    """The doubt of the platform's place; where its height is open, the height of the form."""
    return form.height_mm if found.height_because else found.origin_95_um / 1000


def _form(work, row):
    if "file" in row:
        mesh = work.meshes.reference(row["file"], row.get("unit_factor", 1.0))
        return form_of_mesh(mesh.vertices, mesh.faces)
    return form_from_dict(row)
