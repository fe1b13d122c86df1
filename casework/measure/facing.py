"""How do two surfaces lie to each other: how near, how deep in one another, or far apart?

On scans, noise makes every least distance too small: it is taken off by light smoothing, and
what bias is left (`noise_bias`) is added; the raw value is told beside.
"""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from casework.measure.surfaces.gaps import (
    SAMPLE_MM,
    Gap,
    Meeting,
    Surface,
    design_surface,
    far_distance,
    without_noise,
)
from casework.measure.surfaces.noise_bias import noise_bias
from casework.measure.surfaces.pieces import compacted

REACH_MM = 2.0  # of the least distance sought; farther away nothing touches in any movement
CLOSE_MM = 0.4  # asked first, because it costs a tenth
AROUND_MM = 1.0  # of the least distance, where the raw one is looked up
APART_MM = 10.0  # jaws or parts farther apart than an open bite are not in one frame
DEEP_MM = 1.0  # no bite scan errs so much
DEEP_SHARE = 0.2  # of the surface within reach of the other
DEEP_AREA_MM2 = 30.0  # deeper than that over the area of a premolar: not in one frame
SPREADS_95 = 1.96  # standard deviations of half a 95 % interval
BIAS_UNSURE = 0.5  # of the bias that was taken off
NOISE_UNSURE = 0.25  # of the noise: what is left where the least place lies moves it


@dataclass(frozen=True, eq=False)
class Relation:
    """How two surfaces lie to each other; `because` says why nothing can be told.

    `first` and `second` are what lies near the other, without noise; `gap` the distances
    between, None where nothing is near. `distance_mm` is the least signed one, at `place_mm`
    (3,) of the first and `opposite_mm` of the second, known to `unsure_mm` (half a 95 %
    interval; None for those far apart, from which no noise is taken).
    """

    first: Surface
    second: Surface
    gap: Gap | None
    distance_mm: float | None
    place_mm: np.ndarray | None
    opposite_mm: np.ndarray | None
    details: dict
    because: str = ""
    unsure_mm: float | None = None


def relation(first, second, first_name, second_name, is_scan) -> Relation:
    """Find how two surfaces lie to each other, asking near places before far ones.

    The names are for sentences; `is_scan` tells of each whether it has noise to be taken off.
    """
    details = {
        f"islands_left_out_{name.replace(' ', '_')}": one.dropped
        for one, name in ((first, first_name), (second, second_name))
        if one.dropped
    }
    if not len(first.faces) or not len(second.faces):
        empty = first_name if not len(first.faces) else second_name
        return Relation(
            first, second, None, None, None, None, details, f"The {empty} has no surface."
        )
    near = [
        one.near(other, REACH_MM + SAMPLE_MM)
        for one, other in ((first, second), (second, first))
    ]
    if not all(len(one.faces) for one in near):
        return _far(first, second, first_name, second_name, details)
    raw = near
    near = [
        without_noise(one) if scan else one for one, scan in zip(near, is_scan, strict=True)
    ]
    meeting = Meeting(*near, CLOSE_MM)
    least = meeting.least()
    # What lies deeper than the short reach shows by what lies nearly as deep as that.
    if least is None or least[0] < -CLOSE_MM / 2:
        meeting = Meeting(*near, REACH_MM)
        least = meeting.least()
    if least is None:
        return _far(first, second, first_name, second_name, details)
    because = _lie_in_one_another(meeting.gap, first_name, second_name)
    bias, spread = noise_bias(meeting, least[0]) if not because else (0.0, 0.0)
    details |= {
        "raw_mm": _raw_least(raw, least),
        "noise_mm": max(one.noise_mm for one in near),
        "noise_bias_mm": bias,
        "opposite_mm": least[2],
    }
    unsure = SPREADS_95 * float(
        np.linalg.norm([spread, BIAS_UNSURE * bias, NOISE_UNSURE * details["noise_mm"]])
    )
    return Relation(*near, meeting.gap, least[0] + bias, *least[1:], details, because, unsure)


def _far(first, second, first_name, second_name, details):
    distance, place, opposite = far_distance(first, second)
    because = ""
    if distance > APART_MM:
        because = (
            f"The {first_name} and the {second_name} are not in one frame: they lie "
            f"{distance:.1f} mm apart."
        )
    details = details | {"gap_mm": distance, "opposite_mm": opposite}
    return Relation(first, second, None, distance, place, opposite, details, because)


def _lie_in_one_another(between, first_name, second_name):
    near = np.isfinite(between.signed_mm)
    area, total = between.area, between.area[near].sum()
    deep = area[between.is_overlap & (between.signed_mm < -DEEP_MM)].sum()
    turned = area[near & ~between.is_facing].sum()
    overlap = area[between.is_overlap].sum()
    if deep > DEEP_AREA_MM2 and deep > DEEP_SHARE * overlap:
        how = f"{deep:.0f} mm² of the one lie more than {DEEP_MM:.0f} mm deep in the other"
    elif turned > 0.8 * total and total > DEEP_AREA_MM2:
        how = "where they are near they face the same way (one may be turned inside out)"
    else:
        return ""
    return (
        f"The {first_name} and the {second_name} are not in one frame: they lie in one "
        f"another, {how}."
    )


def _raw_least(raw, least):
    """The least distance without smoothing, in the neighbourhood where it was found."""
    parts = [_ball(one, place) for one, place in zip(raw, least[1:], strict=True)]
    if not all(len(part.faces) for part in parts):
        return least[0]
    found = Meeting(*parts, REACH_MM).least()
    return least[0] if found is None else found[0]


def _ball(surface, place):
    corners = np.linalg.norm(surface.raw - place, axis=1) < AROUND_MM
    vertices, faces = compacted(surface.raw, surface.faces[corners[surface.faces].any(axis=1)])
    return design_surface(vertices, faces)


def places_of(between, chosen):
    """Separate places among chosen points: each with its area, least distance and where."""
    at = np.flatnonzero(chosen)
    if not len(at):
        return []
    points = between.points[at]
    pairs = cKDTree(points).query_pairs(1.5 * SAMPLE_MM, output_type="ndarray")
    links = coo_matrix((np.ones(len(pairs)), pairs.T), shape=(len(at), len(at)))
    count, piece = connected_components(links, directed=False)
    places = []
    for one in range(count):
        mine = at[piece == one]
        least = mine[np.argmin(between.signed_mm[mine])]
        places.append(
            {
                "area_mm2": float(between.area[mine].sum()),
                "least_mm": float(between.signed_mm[least]),
                "place_mm": between.points[least].tolist(),
            }
        )
    return sorted(places, key=lambda place: place["least_mm"])
