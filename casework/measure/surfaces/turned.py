"""How far does a turned solid, a screw or a driver, stay clear of a surface?

The solid is a stack of cylinders on the z axis of its coordinates. The distance from a point to
a cylinder is a convex function, negative inside: over a triangle it is nowhere below the plane
that touches it at the middle, so that few triangles have to be divided to find the least to
within half a micrometre, however large they are.
"""

from dataclasses import dataclass

import numpy as np

from casework.measure.jit import jit

EXACT_MM = 0.0005
DEEPEST = 30  # times that a triangle is halved on each side; a metre becomes a nanometre


@dataclass(frozen=True, eq=False)
class Turned:
    """A solid of revolution: steps (k, 3) from, to (mm along z) and radius of its cylinders."""

    steps: np.ndarray

    @classmethod
    def of(cls, *steps: tuple[float, float, float]) -> "Turned":
        """Return the solid of those steps that have a length and a radius."""
        rows = [row for row in steps if row[1] > row[0] and row[2] > 0]
        return cls(np.array(rows, float).reshape(-1, 3))

    @property
    def top_mm(self) -> float:
        return float(self.steps[:, 1].max())

    @property
    def reach_mm(self) -> float:
        """The radius of a ball around the origin that holds the solid."""
        far = np.abs(self.steps[:, :2]).max(axis=1)
        return float(np.hypot(far, self.steps[:, 2]).max())

    def raised(self, height_mm: float) -> "Turned":
        return Turned(self.steps + [height_mm, height_mm, 0.0])


@dataclass(frozen=True, eq=False)
class Clear:
    """The least distance of a surface from a solid, negative by how deep it reaches into it.

    place_mm (3,): where on the surface, in the coordinates of the solid; step: of the solid.
    """

    gap_mm: float
    place_mm: np.ndarray
    step: int


def clearance(local: np.ndarray, faces: np.ndarray, solid: Turned) -> Clear | None:
    """Return how far a surface stays clear of a solid; None where there is no surface.

    Vertices (m, 3) in the solid's coordinates, faces (n, 3).
    """
    local = np.ascontiguousarray(local, np.float64)
    faces = np.ascontiguousarray(faces, np.int32)
    if not len(faces) or not len(solid.steps):
        return None
    gap, place, step = _clearance(local, faces, np.ascontiguousarray(solid.steps), EXACT_MM)
    return Clear(float(gap), place, int(step))


@jit
def _clearance(local, faces, steps, exact):
    best, which = np.inf, -1
    place = np.zeros(3)
    stack = np.empty((3 * DEEPEST + 4, 12))
    depth = np.empty(3 * DEEPEST + 4, np.int64)
    for s in range(len(steps)):
        for f in range(len(faces)):
            for k in range(3):
                for j in range(3):
                    stack[0, 3 * k + j] = local[faces[f, k], j]
            depth[0] = 0
            held = 1
            while held > 0:
                held -= 1
                bound = _bound(stack, held, steps, s)
                if bound >= best - exact:
                    continue
                # The middle and the corners are places of the surface: one may be the least.
                for k in range(4):
                    away = _away(stack, held, k, steps, s)
                    if away < best:
                        best, which = away, s
                        place[:] = stack[held, 3 * k : 3 * k + 3]
                if depth[held] < DEEPEST and bound < best - exact:
                    _quartered(stack, depth, held)
                    held += 4
    return best, place, which


@jit
def _away(stack, t, k, steps, s):
    """Signed distance of a corner, or of the middle, of a triangle from one cylinder."""
    x, y, z = stack[t, 3 * k], stack[t, 3 * k + 1], stack[t, 3 * k + 2]
    across = np.sqrt(x * x + y * y) - steps[s, 2]
    along = max(steps[s, 0] - z, z - steps[s, 1])
    if across > 0 and along > 0:
        return np.sqrt(across * across + along * along)
    return max(across, along)


@jit
def _bound(stack, t, steps, s):
    """A distance that no point of a triangle is below; its middle onto the stack beside it."""
    for j in range(3):
        stack[t, 9 + j] = (stack[t, j] + stack[t, 3 + j] + stack[t, 6 + j]) / 3
    x, y, z = stack[t, 9], stack[t, 10], stack[t, 11]
    radius = np.sqrt(x * x + y * y)
    across = radius - steps[s, 2]
    is_below = steps[s, 0] - z > z - steps[s, 1]
    along = steps[s, 0] - z if is_below else z - steps[s, 1]
    # The direction in which the distance grows fastest at the middle.
    out, up = 1.0, 0.0
    if across > 0 and along > 0:
        away = np.sqrt(across * across + along * along)
        out, up = across / away, along / away
    elif across >= along:
        away = across
    else:
        away, out, up = along, 0.0, 1.0
    if is_below:
        up = -up
    gx, gy = (out * x / radius, out * y / radius) if radius > 0 else (0.0, 0.0)
    least = 0.0
    for k in range(3):
        dx, dy, dz = stack[t, 3 * k] - x, stack[t, 3 * k + 1] - y, stack[t, 3 * k + 2] - z
        least = min(least, gx * dx + gy * dy + up * dz)
    return away + least


@jit
def _quartered(stack, depth, t):
    """Put the four quarters of a triangle in its place on the stack."""
    deeper = depth[t] + 1
    corner = stack[t].copy()
    middle = np.empty(9)
    for k in range(3):
        for j in range(3):
            middle[3 * k + j] = (corner[3 * k + j] + corner[3 * ((k + 1) % 3) + j]) / 2
    for k in range(3):
        for j in range(3):
            stack[t + k, j] = corner[3 * k + j]
            stack[t + k, 3 + j] = middle[3 * k + j]
            stack[t + k, 6 + j] = middle[3 * ((k + 2) % 3) + j]
        depth[t + k] = deeper
    stack[t + 3, :9] = middle
    depth[t + 3] = deeper
