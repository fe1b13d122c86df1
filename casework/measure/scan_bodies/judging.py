"""Is what lies on the form the scan body itself, and what speaks against relying on it?"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from casework.measure.scan_bodies.deviating import Deviations, deviations
from casework.measure.scan_bodies.forms import SUPPORT_STEP_MM, WALL_UP
from casework.measure.scan_bodies.laying import (
    ALL,
    FEW_POINTS,
    HEIGHT,
    TURN,
    Laid,
    settle,
    without,
)
from casework.measure.scan_bodies.turning import Turn, turned
from casework.measure.surfaces.poses import Pose

# A form lies on its own body within the noise: what is left when noise is averaged over
# patches comes from rounded edges and grows a little with noise that is not quite white.
MISFIT_MM, MISFIT_OF_NOISE = 0.012, 0.35
# Within patches its points spread as the scan trembles there, and by what edges rounded to the
# scan's own fineness add: up to 7 µm at edges of 0.15 mm, 18 at 0.3, 20 where 30 µm of noise
# were smoothed away (the forms of the accuracy command at 0, 10 and 30 µm, smoothed 0, 2 and 10
# times). Points of another form on a third of a body spread by 1.2 to 1.9 times 30 µm.
TREMBLE, ROUNDED_MM, ROUNDED_OF_EDGE = 1.2, 0.02, 0.08
FITS_SHARE = 0.75  # of what stands free must lie on the form
INSIDE_SHARE = 0.12  # of what lies on it may lie deep in it, where nothing of a body can be
ROUND_WAYS, ROUND_MM2, LEAST_WAYS = 36, 0.25, 5  # a round wall faces at least 50 degrees
AXIS_DEG = 2.0  # known less well, whatever lies there holds no axis: it is no body's wall
LEAST_MM2 = 10.0  # of the body that must be seen
LIKE_BODY_SHARE = 0.6  # of what stands free lies on a body of another form
LIKE_BODY_MM2, LIKE_BODY_OFF_MM = 18.0, 0.45  # whose sides differ by no more
COVERED_FROM_MM = 1.0  # above the platform; below it gum hides every body
COVERED_MM, COVERED_EDGES = 0.25, 1.5
HEIGHT_MM = 0.1  # a height known less well than this is not known
STRANGE_MM = 0.15  # off the form by more, where everything else lies on it
STRANGE_MM2, STRANGE_SHARE = 1.2, 0.04  # of it that is spoken of
STRANGE_COSINE = 0.5  # faces the form's way within 60 degrees: what fills a bevel of it, too
INSIDE_MM2 = 0.8  # the same inside of the form, where nothing can be


@dataclass(frozen=True, eq=False)
class Body:
    """A form that lies on a body of the scan, with everything that is to be said of it."""

    turn: Turn
    covered_share: float
    top_covered_share: float
    deviations: Deviations
    height_because: str

    @property
    def laid(self) -> Laid:
        return self.turn.laid

    @property
    def pose(self) -> Pose:
        return self.laid.pose

    @cached_property
    def strange(self):
        """Areas off the form where there should be none: way, mm2, mean distance, middle."""
        return _strange(self.laid)

    @property
    def problem(self) -> str:
        """Why it may be another body than the form says; empty where nothing tells so."""
        told = list(self.told)
        if not told:
            return ""
        return (
            f"It differs from the form: {'; '.join(told)}. It is a body of another kind or"
            " system, it is worn, or something adheres to it."
        )

    @cached_property
    def told(self) -> tuple[str, ...]:
        """What differs from the form, in words."""
        told = [side.sentence for side in self.deviations.sides if side.deviates]
        for way, area, off, middle in self.strange:
            told.append(
                f"{area:.1f} mm² of its surface lie {off:.2f} mm {way} the form, around"
                f" {middle[2]:.1f} mm above the platform"
            )
        return tuple(dict.fromkeys(told))


def is_form(laid: Laid) -> bool:
    """Does the form lie on a body of its own shape?"""
    seen = laid.seen
    within, between = seen.spreads_mm
    inside = seen.areas[seen.is_in].sum()
    return (
        seen.worth_mm2 > LEAST_MM2
        and seen.fits_share > FITS_SHARE
        and inside < INSIDE_SHARE * seen.areas[seen.is_on].sum()
        and between < MISFIT_MM + MISFIT_OF_NOISE * within
        and _turns_as_round(laid)
    )


def is_own_spread(laid: Laid) -> bool:
    """Do points spread about a form, turned as it should be, no more than about their own?"""
    rounded = max(ROUNDED_MM, ROUNDED_OF_EDGE * laid.around.edge_mm)
    return laid.seen.spreads_mm[0] < np.hypot(TREMBLE * laid.around.noise_mm, rounded)


def _turns_as_round(laid):
    """Does a round wall turn in the scan, too, and not only touch level ones in a line?"""
    seen, form = laid.seen, laid.known.form
    if len(form.walls_mm) > 1:
        return True
    there = form.normals[seen.face]
    passes = np.einsum("ij,ij->i", there[:, :2], seen.points[:, :2])
    is_round = seen.is_on & (np.abs(there[:, 2]) < WALL_UP)
    is_round &= np.abs(passes - form.wall_radius_mm) < SUPPORT_STEP_MM
    faces = np.arctan2(seen.normals[is_round, 1], seen.normals[is_round, 0]) / (2 * np.pi)
    ways = np.floor(faces * ROUND_WAYS).astype(int) % ROUND_WAYS
    areas = np.bincount(ways, seen.areas[is_round], ROUND_WAYS)
    return np.count_nonzero(areas > ROUND_MM2) >= LEAST_WAYS


def judged(laid: Laid) -> Body:
    """Return a form that lies on its body with its turn, cover, height and deviations."""
    moves, height = ALL, ""
    # With the turn held: an open turn would make the height look open, too.
    few = settle(laid.around.thinned(FEW_POINTS), laid.pose, laid.known, without(TURN))
    if few is None or not few.height_95_mm < HEIGHT_MM:
        moves = without(HEIGHT)
        height = (
            "Neither the top nor a ledge of the scan body is in the scan: its height along the"
            " axis is open, and with it where the platform lies."
        )
        laid = settle(laid.around, laid.pose, laid.known, moves) or laid
    turn = turned(laid, moves)
    covered, top = _covered(turn.laid)
    return Body(turn, covered, top, deviations(turn.laid), height)


def _covered(laid):
    """Share of the form above the gum's reach that has points, and of its level top."""
    form, seen = laid.known.form, laid.seen
    places, face = form.samples
    high = places[:, 2] > COVERED_FROM_MM
    on = seen.points[seen.is_on]
    near = np.zeros(len(places), bool)
    if len(on):
        edge = np.sqrt(2 * np.median(seen.areas[seen.is_on]))
        reach = max(COVERED_MM, COVERED_EDGES * edge)
        near = form.near_points(on, reach)
    top = high & (form.normals[face, 2] > 0.9) & (places[:, 2] > form.height_mm - 0.05)
    return _share(near, high), _share(near, top)


def _share(near, mine):
    return float(near[mine].mean()) if mine.any() else 0.0


def _strange(laid):
    seen = laid.seen
    off = (seen.away_mm > STRANGE_MM) & (seen.away_mm < 1.0)
    there = laid.known.form.normals[seen.face]
    alike = np.einsum("ij,ij->i", seen.normals, there) > STRANGE_COSINE
    outer = off & seen.is_free & alike & (seen.off_mm > STRANGE_MM)
    inner = off & seen.is_in & (seen.is_free | (seen.points[:, 2] > seen.gum_mm))
    least = max(STRANGE_MM2, STRANGE_SHARE * seen.worth_mm2)
    told = []
    for way, mine, most in (("outside", outer, least), ("inside", inner, INSIDE_MM2)):
        areas = seen.areas[mine]
        if areas.sum() > most:
            mean = float(np.average(seen.away_mm[mine], weights=areas))
            middle = np.average(seen.points[mine], axis=0, weights=areas)
            told.append((way, float(areas.sum()), mean, middle))
    return told
