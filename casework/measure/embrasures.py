"""How round is the embrasure beneath a joint, and the outline of its section?"""

import numpy as np

from casework.measure.surfaces.sections import Section, Sections

WINDOW_MM = 0.3  # to both sides of a place; half the arc of the least rounding asked for
STEP_MM = 0.02  # from point to point of an outline
REACH_MM = 3.0  # along the outline from the joint: as far as an embrasure goes
RISE_MM = 0.2  # an embrasure ends where its outline turns back toward the opposing jaw
SHALLOW_MM = 0.02  # an arc no higher over its chord is fitted as a parabola: radius over 2 mm
STRAIGHT_MM = 30.0  # an outline bent by this radius or more is not hollow
CONVEX_MM = 10.0  # an outline bent outwards by this radius or less ends an embrasure


def embrasure_radius(
    cuts: Sections, place_mm: np.ndarray, along: np.ndarray, occlusal: np.ndarray
) -> tuple[float, np.ndarray] | None:
    """Return the least radius of the gingival embrasure under a joint, and where (3,).

    In the plane through the joint's centre along the bridge and the occlusal direction, the
    outline under the joint is followed to both sides: past what is hollow to where it turns
    outwards or up again, 3 mm at most. Of all circles fitted to 0.6 mm of it, that of the least
    radius counts whose centre lies in the open. None where the outline is nowhere hollow. A
    sharp corner reads as a radius of about 0.2 mm: what is less than half the arc cannot be
    told.
    """
    across = np.cross(along, occlusal)
    if not np.linalg.norm(across) > 1e-6:
        return None
    section = cuts.cut(place_mm, across, occlusal).around(place_mm)
    outline, foot = _under(section, section.in_plane(place_mm))
    if outline is None:
        return None
    radii, middles = radii_along(outline)
    foot = int(np.clip(foot - _half(), 0, max(len(radii) - 1, 0)))
    hollow = np.full(len(radii), np.inf)
    for side in (slice(foot, None), slice(foot, None, -1)):
        first = _first_hollow(radii[side])
        hollow[side][first] = -radii[side][first]
    if not np.isfinite(hollow).any():
        return None
    least = int(np.argmin(hollow))
    return float(hollow[least]), section.to_world(middles[least : least + 1])[0]


def _first_hollow(radii):
    """The first hollow stretch of an outline, up to where it bends outwards."""
    is_hollow = (radii < 0) & (radii > -STRAIGHT_MM)
    if not is_hollow.any():
        return is_hollow
    begin = int(np.argmax(is_hollow))
    is_outward = (radii > 0) & (radii < CONVEX_MM)
    is_outward[:begin] = False
    if is_outward.any():
        is_hollow[int(np.argmax(is_outward)) :] = False
    return is_hollow


def outline_radius(section: Section) -> float | None:
    """Return the least radius of the outlines of a section; None where it is empty."""
    least = np.inf
    for low, high in zip(section.starts, section.starts[1:], strict=False):
        loop = section.points[low:high]
        evened = _even(np.vstack([loop, loop[:1]]))
        if len(evened) > 2 * _half():
            radii, _ = radii_along(np.vstack([evened, evened[: 2 * _half()]]))
            least = min(least, np.abs(radii).min())
    return float(least) if np.isfinite(least) else None


def radii_along(outline: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return radii (k,) of circles fitted along an outline, and the places in it (k, 2).

    The outline is points (n, 2), 0.02 mm apart, the body on its left: a radius is negative
    where the outline is hollow, inf where it is straight. Circles are fitted by least squares
    of x² + y² (I. Kåsa, A circle fitting procedure and its error analysis, IEEE Transactions on
    Instrumentation and Measurement 1976).
    """
    half = _half()
    if len(outline) < 2 * half + 1:
        return np.empty(0), np.empty((0, 2))
    window = np.lib.stride_tricks.sliding_window_view(outline, 2 * half + 1, axis=0)
    window = np.moveaxis(window, 1, 2)
    middles = outline[half : len(outline) - half]
    start, chord = window[:, 0], window[:, -1] - window[:, 0]
    length = np.maximum(np.linalg.norm(chord, axis=1), 1e-9)
    to_left = np.stack([-chord[:, 1], chord[:, 0]], axis=1) / length[:, None]
    height = np.einsum("kni,ki->kn", window - start[:, None], to_left)
    x = np.einsum("kni,ki->kn", window - middles[:, None], chord / length[:, None])
    # Height over the chord grows as x² / 2r: enough for an arc that is nearly straight, which
    # a circle would take for a small one where it winds a little.
    bend = _bends(x, height)
    radii = np.where(np.abs(bend) > 1e-9, 0.5 / np.where(bend == 0, 1, bend), np.inf)
    is_bent = np.abs(bend) * WINDOW_MM**2 > SHALLOW_MM
    if is_bent.any():
        y = np.einsum("kni,ki->kn", window - middles[:, None], to_left)[is_bent]
        x = x[is_bent]
        unknown = np.stack([x, y, np.ones_like(x)], axis=2)
        square = unknown.transpose(0, 2, 1) @ unknown
        right = unknown.transpose(0, 2, 1) @ (x * x + y * y)[:, :, None]
        a, b, c = np.linalg.solve(square, right)[:, :, 0].T
        # Running with the body on the left, a centre on the left is inside.
        radii[is_bent] = np.sqrt(c + (a * a + b * b) / 4) * np.sign(b)
    return radii, middles


def _bends(x, height):
    """Factor of x² in the parabola of least squares through each window (k,)."""
    x = x - x.mean(axis=1, keepdims=True)
    height = height - height.mean(axis=1, keepdims=True)
    square = x * x - (x * x).mean(axis=1, keepdims=True)
    xx, xs, ss = (x * x).sum(axis=1), (x * square).sum(axis=1), (square * square).sum(axis=1)
    xh, sh = (x * height).sum(axis=1), (square * height).sum(axis=1)
    return (sh * xx - xh * xs) / np.maximum(ss * xx - xs * xs, 1e-15)


def _half():
    return round(WINDOW_MM / STEP_MM)


def _even(line):
    length = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    at = np.arange(0.0, length[-1], STEP_MM)
    return np.stack([np.interp(at, length, line[:, x]) for x in range(2)], axis=1)


def _under(section, place):
    """The outline beneath a place, as far as an embrasure goes, and which point is there."""
    best = None
    for low, high in zip(section.starts, section.starts[1:], strict=False):
        loop = section.points[low:high]
        ends = np.roll(loop, -1, axis=0)
        passes = (loop[:, 0] <= place[0]) != (ends[:, 0] <= place[0])
        for k in np.flatnonzero(passes):
            share = (place[0] - loop[k, 0]) / (ends[k, 0] - loop[k, 0])
            height = loop[k, 1] + share * (ends[k, 1] - loop[k, 1])
            if height <= place[1] and (best is None or height > best[0]):
                best = (height, loop, k)
    if best is None:
        return None, 0
    height, loop, k = best
    foot = np.array([[place[0], height]])
    ahead = np.vstack([foot, np.roll(loop, -(k + 1), axis=0)])
    behind = np.vstack([foot, np.roll(loop, -(k + 1), axis=0)[::-1]])
    ahead, behind = _until_it_rises(_even(ahead)), _until_it_rises(_even(behind))
    return np.vstack([behind[:0:-1], ahead]), len(behind) - 1


def _until_it_rises(line):
    line = line[: round(REACH_MM / STEP_MM) + 1]
    rises = line[:, 1] > np.minimum.accumulate(line[:, 1]) + RISE_MM
    return line[: int(np.argmax(rises))] if rises.any() else line
