"""Is there room between a design and the opposing jaw, and do the two jaws bite?

Distances are taken in the bite that the scans recorded. Whether a value is more than the error
of that record is for the caller to judge.
"""

from collections.abc import Callable

import numpy as np

from casework.measure.facing import REACH_MM, places_of, relation
from casework.measure.results import Measured, Quantity
from casework.measure.surfaces.gaps import (
    Surface,
    design_surface,
    scan_surface,
    signed_distances,
    without_noise,
)
from casework.measure.surfaces.nearest import Nearest

CONTACT_MM = 0.05  # the error of a recorded bite: nearer places may touch

CLEARANCE = Quantity(
    "clearance",
    "Clearance to the opposing jaw",
    "mm",
    "least signed distance to the opposing scan, noise taken off; negative inside it",
)
OVERLAP_DEPTH = Quantity(
    "overlap_depth",
    "Depth of overlap with the opposing jaw",
    "mm",
    "greatest depth of a point inside the opposing scan, lightly smoothed",
)
OVERLAP_AREA = Quantity(
    "overlap_area",
    "Area of overlap with the opposing jaw",
    "mm2",
    "area that lies inside the opposing scan, lightly smoothed",
)
JAW_DISTANCE = Quantity(
    "jaw_distance",
    "Least distance of the jaws",
    "mm",
    "least signed distance of both scans, noise taken off; negative where they overlap",
)
JAW_OVERLAP_DEPTH = Quantity(
    "jaw_overlap_depth",
    "Depth of overlap of the jaws",
    "mm",
    "greatest depth of a point of one scan inside the other, both lightly smoothed",
)
JAW_OVERLAP_AREA = Quantity(
    "jaw_overlap_area",
    "Area of overlap of the jaws",
    "mm2",
    "area of the working scan inside the opposing scan, both lightly smoothed",
)
JAW_CONTACTS = Quantity(
    "jaw_contacts",
    "Contacts between the jaws",
    "",
    "number of separate places nearer than 0.05 mm, both scans lightly smoothed",
)
JAW_BALANCE = Quantity(
    "jaw_balance",
    "Share of the contacts on the patient's right",
    "",
    "area nearer than 0.05 mm on the right of the arch's middle, of the whole such area",
)
QUANTITIES = (
    CLEARANCE, OVERLAP_DEPTH, OVERLAP_AREA, JAW_DISTANCE, JAW_OVERLAP_DEPTH, JAW_OVERLAP_AREA,
    JAW_CONTACTS, JAW_BALANCE,
)  # fmt: skip


def clearance(
    design_vertices: np.ndarray,
    design_faces: np.ndarray,
    opposing_vertices: np.ndarray,
    opposing_faces: np.ndarray,
    subject: str,
    sites: tuple[str, ...] = (),
    unit_of: Callable[[np.ndarray], np.ndarray] | None = None,
) -> list[Measured]:
    """Return clearance, depth and area of overlap of a design, and of each of its units.

    Vertices (m, 3) in mm in one frame, faces (n, 3). `unit_of` gives for points (k, 3) the
    index in `sites` of the unit that they belong to (`joints.units_of`); without it, the design
    is measured as a whole. Not known where the two do not lie in one frame.
    """
    design = design_surface(design_vertices, design_faces)
    opposing = scan_surface(opposing_vertices, opposing_faces)
    found = relation(design, opposing, "design", "opposing jaw", is_scan=(False, True))
    quantities = CLEARANCE, OVERLAP_DEPTH, OVERLAP_AREA
    rows = _rows(subject, found, quantities)
    if unit_of is None or len(sites) < 2 or found.because:
        return rows
    unit = unit_of(design.vertices[design.faces].mean(axis=1))
    for k, site in enumerate(sites):
        part = Surface(design.raw, design.vertices, design.faces[unit == k], 0.0, [])
        own = relation(part, found.second, "unit", "opposing jaw", (False, found.gap is None))
        rows += _rows(site, own, quantities)
    return rows


def clearance_field(
    design_vertices: np.ndarray,
    design_faces: np.ndarray,
    opposing_vertices: np.ndarray,
    opposing_faces: np.ndarray,
    reach_mm: float = REACH_MM,
) -> np.ndarray:
    """Return for each vertex of the design its signed distance (m,) in mm; nan beyond reach."""
    design = design_surface(design_vertices, design_faces)
    near = without_noise(scan_surface(opposing_vertices, opposing_faces).near(design, reach_mm))
    distances = signed_distances(design.vertices, Nearest(near.vertices, near.faces, reach_mm))
    return np.where(np.isfinite(distances), distances, np.nan)


def jaws_in_bite(
    working_vertices: np.ndarray,
    working_faces: np.ndarray,
    opposing_vertices: np.ndarray,
    opposing_faces: np.ndarray,
    subject: str,
    middle_mm: np.ndarray | None = None,
    rightward: np.ndarray | None = None,
) -> list[Measured]:
    """Return distance, overlap, contacts and balance of two jaws as they were scanned to bite.

    `middle_mm` (3,) is a point of the arch's midline and `rightward` (3,) points to the
    patient's right; without them the balance is not known.
    """
    working = scan_surface(working_vertices, working_faces)
    opposing = scan_surface(opposing_vertices, opposing_faces)
    found = relation(working, opposing, "working jaw", "opposing jaw", is_scan=(True, True))
    rows = _rows(subject, found, (JAW_DISTANCE, JAW_OVERLAP_DEPTH, JAW_OVERLAP_AREA))
    if found.because:
        because = found.because
        return [
            *rows,
            *(one.not_known(subject, because) for one in (JAW_CONTACTS, JAW_BALANCE)),
        ]
    gap_ = found.gap
    # Jaws farther apart than is looked at have no gap and touch nowhere.
    touches = None if gap_ is None else (gap_.signed_mm <= CONTACT_MM) & gap_.is_facing
    places = [] if gap_ is None else places_of(gap_, touches)
    rows.append(
        JAW_CONTACTS.of(subject, len(places), found.place_mm, nearer_than_mm=CONTACT_MM,
                        places=places)
    )  # fmt: skip
    return [*rows, _balance(subject, gap_, touches, middle_mm, rightward)]


def _balance(subject, gap_, touches, middle_mm, rightward):
    if middle_mm is None or rightward is None:
        return JAW_BALANCE.not_known(subject, "The middle of the arch is not known.")
    if touches is None or not touches.any():
        return JAW_BALANCE.not_known(
            subject, f"Nowhere do the jaws come nearer than {CONTACT_MM} mm."
        )
    side = (gap_.points[touches] - np.asarray(middle_mm)) @ np.asarray(rightward)
    area = gap_.area[touches]
    return JAW_BALANCE.of(
        subject, area[side > 0].sum() / area.sum(), contact_area_mm2=area.sum()
    )


def _rows(subject, found, quantities):
    distance, depth, area = quantities
    if found.because:
        return [
            one.not_known(subject, found.because, found.place_mm, **found.details)
            for one in quantities
        ]
    unsure = found.unsure_mm
    rows = [distance.of(subject, found.distance_mm, found.place_mm, unsure, **found.details)]
    if found.gap is None:
        return [*rows, depth.of(subject, 0.0), area.of(subject, 0.0)]
    overlap = found.gap.is_overlap
    places = places_of(found.gap, overlap)
    deepest = max(-found.distance_mm, 0.0)
    return [
        *rows,
        depth.of(subject, deepest, found.place_mm if deepest else None, unsure),
        area.of(
            subject, found.gap.area[overlap].sum(), found.place_mm if len(places) else None,
            places=places,
        ),
    ]  # fmt: skip
