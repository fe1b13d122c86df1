"""How does a surface look in section, in half planes around an axis?"""

from dataclasses import dataclass

import numpy as np

from casework.measure.jit import jit


@dataclass(frozen=True, eq=False)
class Sections:
    """Segments in which the half planes at even turns around the z axis cut a surface.

    Those of half plane k, at the angle 2 π k / count, are starts[k] to starts[k + 1]. `ends`
    (s, 2, 2): radius and height of both ends of each segment.
    """

    count: int
    starts: np.ndarray
    ends: np.ndarray

    def of(self, k: int) -> np.ndarray:
        """The segments (s, 2, 2) of one half plane."""
        return self.ends[self.starts[k] : self.starts[k + 1]]

    def outline(self, low_mm: float, step_mm: float, levels: int) -> np.ndarray:
        """Return the greatest radius (count, levels) at even heights, -1 where it is empty."""
        return _outline(self.starts, self.ends, low_mm, step_mm, levels)

    def directions(self) -> np.ndarray:
        """Return the unit vectors (count, 2) of the half planes across the axis."""
        turn = 2 * np.pi * np.arange(self.count) / self.count
        return np.stack([np.cos(turn), np.sin(turn)], axis=1)


def sections_around(local: np.ndarray, faces: np.ndarray, count: int) -> Sections:
    """Return the Sections of vertices (m, 3), given along and around z, and faces (n, 3)."""
    local = np.ascontiguousarray(local, np.float64)
    faces = np.ascontiguousarray(faces, np.int32)
    return Sections(count, *_cut(local, faces, count))


@jit
def _cut(local, faces, count):
    starts = np.zeros(count + 1, np.int64)
    ends = np.empty((0, 2, 2))
    turn = 2 * np.pi / count
    one = np.empty((2, 2))
    for visit in range(2):
        if visit == 1:
            for k in range(count):
                starts[k + 1] += starts[k]
            ends = np.empty((starts[count], 2, 2))
        for f in range(len(faces)):
            first, last = _turns(local, faces, f, turn, count)
            for k in range(first, last + 1):
                at = k % count
                if not _segment(local, faces, f, at * turn, one):
                    continue
                if visit == 0:
                    starts[at + 1] += 1
                else:
                    ends[starts[at], :, :] = one
                    starts[at] += 1
    for k in range(count, 0, -1):
        starts[k] = starts[k - 1]
    starts[0] = 0
    return starts, ends


@jit
def _turns(local, faces, f, turn, count):
    """The first and the last half plane that a face may cross."""
    base = np.arctan2(local[faces[f, 0], 1], local[faces[f, 0], 0])
    low, high, reached, before = 0.0, 0.0, 0.0, base
    for k in range(1, 4):
        v = faces[f, k % 3]
        at = np.arctan2(local[v, 1], local[v, 0])
        step = at - before
        reached += step - 2 * np.pi * np.round(step / (2 * np.pi))
        before = at
        low, high = min(low, reached), max(high, reached)
    # The axis runs through the face, or so near to an edge that the turns are no guide.
    if abs(reached) > 1.0 or high - low > 0.9 * np.pi:
        return 0, count - 1
    first = np.int64(np.floor((base + low) / turn - 1e-6))
    end = np.int64(np.ceil((base + high) / turn + 1e-6))
    return first + 4 * count, min(end, first + count - 1) + 4 * count


@jit
def _segment(local, faces, f, angle, one):
    """Where a face crosses a half plane: its two ends into `one`."""
    c, s = np.cos(angle), np.sin(angle)
    found = 0
    for k in range(3):
        i, j = faces[f, k], faces[f, (k + 1) % 3]
        off_i = c * local[i, 1] - s * local[i, 0]
        off_j = c * local[j, 1] - s * local[j, 0]
        if (off_i < 0) == (off_j < 0):
            continue
        share = off_i / (off_i - off_j)
        r_i, r_j = c * local[i, 0] + s * local[i, 1], c * local[j, 0] + s * local[j, 1]
        if found < 2:
            one[found, 0] = r_i + share * (r_j - r_i)
            one[found, 1] = local[i, 2] + share * (local[j, 2] - local[i, 2])
        found += 1
    if found != 2 or (one[0, 0] <= 0 and one[1, 0] <= 0):
        return False
    for k in range(2):
        if one[k, 0] < 0:  # what lies on the other side of the axis is cut off
            share = one[k, 0] / (one[k, 0] - one[1 - k, 0])
            one[k, 1] += share * (one[1 - k, 1] - one[k, 1])
            one[k, 0] = 0.0
    return True


@jit
def _outline(starts, ends, low, step, levels):
    count = len(starts) - 1
    radius = np.full((count, levels), -1.0)
    for k in range(count):
        for s in range(starts[k], starts[k + 1]):
            r0, z0, r1, z1 = ends[s, 0, 0], ends[s, 0, 1], ends[s, 1, 0], ends[s, 1, 1]
            if z0 > z1:
                r0, z0, r1, z1 = r1, z1, r0, z0
            # A height that rounding moved off the end of a segment still belongs to it.
            first = max(np.int64(np.ceil((z0 - low) / step - 1e-6)), 0)
            last = min(np.int64(np.floor((z1 - low) / step + 1e-6)), levels - 1)
            for i in range(first, last + 1):
                z = low + i * step
                share = 1.0 if r1 > r0 else 0.0
                if z1 - z0 > 1e-6 * step:
                    share = min(max((z - z0) / (z1 - z0), 0.0), 1.0)
                radius[k, i] = max(radius[k, i], r0 + share * (r1 - r0))
    return radius
