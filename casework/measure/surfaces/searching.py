"""Which motions may carry one surface onto another, when nothing is known beforehand?

Two points with their normals fix a motion. Pairs of points of the first surface are looked up
among those of the second that have the same distance and angles (the four numbers of a pair:
B. Drost and others, Model globally, match locally, IEEE Conference on Computer Vision and
Pattern Recognition 2010) and that are bent alike; each motion found is tried on some points,
and those that most of them agree with are returned. Principal axes give more candidates: exact
for two copies of one body.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree

from casework.measure.jit import jit
from casework.measure.surfaces.clouds import Cloud
from casework.measure.surfaces.poses import Rigid

SPARSE = 1_000  # points that make pairs
PAIRS = 500  # of the first surface that are looked up
CHECKED = 240  # points on which a motion is tried
EARLY, EARLY_LEAST = 24, 6  # a motion with fewer hits among the first is given up
# Share of the smaller surface's size: radius over which normals and bending are taken, near
# enough to count as a hit, cells of the lookup.
AROUND, HIT, CELL = 0.022, 0.007, 0.012
NEAR_PAIR, FAR_PAIR = 0.15, 0.6  # length of a pair
LENGTH_STEP = 0.014
ANGLE_STEPS = 12  # of 180 degrees
BENT_ALIKE = 0.35  # of the spread of the bending
AGREE_COSINE = 0.8
EVENED_OVER = 16  # points over which a normal is averaged
MOST_CELLS = 4_000_000
BEST = 6  # motions returned
ALIKE_TRACE = 2.97  # of the turn between two motions that are one: 10 degrees


class Search:
    """A surface prepared for others of a size to be laid on it, smaller ones best."""

    def __init__(self, target: Cloud, size_mm: float):
        self.target, self.size_mm = target, size_mm
        self.can_find = len(target.points) >= 4 and size_mm > 0
        if self.can_find:
            self._grid = _Grid(_evened(target, AROUND * size_mm), size_mm)
            self._bent = _Bent.of(target, AROUND * size_mm)
            keys, firsts, seconds = _pairs_of(
                self._bent.points, self._bent.normals, *self._lengths()
            )
            order = np.argsort(keys)
            self._pairs = keys[order], firsts[order], seconds[order]

    def candidates(self, source: Cloud, *, mirrored: bool = False) -> list[tuple[float, Rigid]]:
        """Return motions that may carry the source onto the target, the likeliest first.

        Beside each, the share of the source's points that lie on the target then, within about
        a hundredth of its size. With `mirrored`, motions with a reflection in them
        (determinant -1).
        """
        if not self.can_find or len(source.points) < 4:
            return []
        first = _reflection(source.centre_mm) if mirrored else Rigid.none()
        moving = source.moved(first)
        tried = _in_mixed_order(_evened(moving, AROUND * self.size_mm))
        found = [*_by_axes(moving, self.target), *self._by_pairs(moving, tried)]
        shares = [
            _hits(one.rotation, one.shift_mm, *tried, *self._grid.lookup, 0) / CHECKED
            for one in found
        ]
        best = np.argsort(-np.array(shares), kind="stable")[:BEST]
        return [(shares[k], found[k].after(first)) for k in best]

    def _lengths(self):
        return (
            NEAR_PAIR * self.size_mm, FAR_PAIR * self.size_mm, LENGTH_STEP * self.size_mm
        )  # fmt: skip

    def _by_pairs(self, moving, tried):
        """The motions that carry a pair of points of the source onto one of the target."""
        a, b = _Bent.of(moving, AROUND * self.size_mm), self._bent
        alike = BENT_ALIKE * max(float(np.std(b.bending)), 1e-9)
        rotations, shifts, scores = _searched(
            a.points, a.normals, a.bending, b.points, b.normals, b.bending, alike,
            *self._pairs, *self._lengths(), *tried, *self._grid.lookup,
        )  # fmt: skip
        kept, near = [], AROUND * self.size_mm
        for k in np.argsort(-scores, kind="stable"):
            if len(kept) == BEST or scores[k] <= 0:
                break
            one = Rigid(rotations[k].copy(), shifts[k].copy())
            if not any(_are_alike(one, other, moving.centre_mm, near) for other in kept):
                kept.append(one)
        return kept


def _reflection(centre):
    """The mirror image in the plane x = constant through a point."""
    return Rigid(np.diag([-1.0, 1.0, 1.0]), np.array([2.0 * centre[0], 0.0, 0.0]))


def _by_axes(source, target):
    """The four turns that carry principal axes onto principal axes."""
    (_, a), (_, b) = source.moments, target.moments
    for signs in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
        columns = b * np.array([*signs, 1])
        rotation = columns @ a.T
        if np.linalg.det(rotation) < 0:
            columns[:, 2] *= -1
            rotation = columns @ a.T
        yield Rigid(rotation, target.centre_mm - rotation @ source.centre_mm)


class _Grid:
    """Cells with the nearest point of the target, on which motions are tried."""

    def __init__(self, target, size_mm):
        extents = np.ptp(target.points, axis=0)
        fewest = float(np.prod(extents + size_mm / 50) / MOST_CELLS) ** (1 / 3)
        cell = max(CELL * size_mm, fewest)
        low = target.points.min(axis=0) - 2.0 * cell
        counts = np.ceil(extents / cell).astype(np.int64) + 4
        steps = [low[x] + (np.arange(counts[x]) + 0.5) * cell for x in range(3)]
        centres = np.stack(np.meshgrid(*steps, indexing="ij"), axis=-1).reshape(-1, 3)
        found = cKDTree(target.points).query(centres, distance_upper_bound=1.5 * cell)[1]
        nearest = np.where(found < len(target.points), found, -1).astype(np.int32)
        self.lookup = (
            target.points, target.normals, nearest, low, cell, counts, HIT * size_mm
        )  # fmt: skip


def _evened(cloud, around):
    """The cloud with normals averaged around each point: noise turns those of short faces."""
    near = cKDTree(cloud.points).query(cloud.points, EVENED_OVER, distance_upper_bound=around)[
        1
    ]
    normals = np.vstack([cloud.normals, np.zeros(3)])[near].sum(axis=1)
    normals /= np.maximum(np.linalg.norm(normals, axis=1), 1e-12)[:, None]
    return replace(cloud, normals=normals)


def _in_mixed_order(source):
    """Some points and normals; the first few of them stand for the whole surface, too."""
    order = (np.arange(CHECKED) * 89) % CHECKED
    chosen = (order * (len(source.points) / CHECKED)).astype(np.int64)
    return source.points[chosen], source.normals[chosen]


def _are_alike(one, other, place_mm, near_mm):
    off = one.apply(place_mm[None])[0] - other.apply(place_mm[None])[0]
    turn = one.rotation.T @ other.rotation
    return np.linalg.norm(off) < near_mm and np.trace(turn) > ALIKE_TRACE


@dataclass(frozen=True, eq=False)
class _Bent:
    """Some of the points with normals and bending taken over what lies around them."""

    points: np.ndarray
    normals: np.ndarray
    bending: np.ndarray

    @classmethod
    def of(cls, cloud, around):
        chosen = (np.arange(SPARSE) * (len(cloud.points) / SPARSE)).astype(np.int64)
        chosen = np.unique(chosen)
        rows = cKDTree(cloud.points[chosen]).sparse_distance_matrix(
            cKDTree(cloud.points), around, output_type="coo_matrix"
        )
        at, other = rows.row, rows.col
        count = np.bincount(at, minlength=len(chosen))
        normals = np.stack(
            [np.bincount(at, cloud.normals[other, x], len(chosen)) for x in range(3)], axis=1
        )
        normals /= np.maximum(np.linalg.norm(normals, axis=1), 1e-12)[:, None]
        middle = (
            np.stack(
                [np.bincount(at, cloud.points[other, x], len(chosen)) for x in range(3)], axis=1
            )
            / np.maximum(count, 1)[:, None]
        )
        off = np.einsum("ij,ij->i", middle - cloud.points[chosen], normals)
        return cls(cloud.points[chosen], normals, off)


@jit
def _key(points_a, normals_a, i, j, near, far, step):
    """The number of the bin that a pair lies in; -1 where its points are too near or far."""
    square = along_i = along_j = both = 0.0
    for x in range(3):
        way = points_a[j, x] - points_a[i, x]
        square += way * way
        along_i += way * normals_a[i, x]
        along_j += way * normals_a[j, x]
        both += normals_a[i, x] * normals_a[j, x]
    length = np.sqrt(square)
    if length < near or length > far:
        return -1
    bins = np.int64(length / step)
    for cosine in (along_i / length, along_j / length, both):
        angle = np.arccos(min(max(cosine, -1.0), 1.0)) / np.pi
        bins = bins * ANGLE_STEPS + min(np.int64(angle * ANGLE_STEPS), ANGLE_STEPS - 1)
    return bins


@jit
def _pairs_of(points, normals, near, far, step):
    n = len(points)
    total = 0
    for turn in range(2):
        if turn == 1:
            keys = np.empty(total, np.int64)
            firsts, seconds = np.empty(total, np.int32), np.empty(total, np.int32)
            total = 0
        for i in range(n):
            for j in range(n):
                key = _key(points, normals, i, j, near, far, step) if i != j else -1
                if key < 0:
                    continue
                if turn == 1:
                    keys[total], firsts[total], seconds[total] = key, i, j
                total += 1
    return keys, firsts, seconds


@jit
def _searched(
    a_points, a_normals, a_bending, b_points, b_normals, b_bending, alike,
    keys, firsts, seconds, near, far, step,
    points, normals, t_points, t_normals, nearest, low, cell, counts, hit,
):  # fmt: skip
    """Look pairs of the source up and try each motion; the best of each pair is returned."""
    rotations, shifts = np.zeros((PAIRS, 3, 3)), np.zeros((PAIRS, 3))
    scores = np.zeros(PAIRS, np.int64)
    frame_a, frame_b = np.empty((3, 3)), np.empty((3, 3))
    rotation, shift = np.empty((3, 3)), np.empty(3)
    n = len(a_points)
    pair, state = 0, np.uint64(88172645463325252)
    for _ in range(40 * PAIRS):
        if pair == PAIRS:
            break
        # The same pairs every time (G. Marsaglia, Xorshift RNGs, Journal of Statistical
        # Software 2003).
        state ^= state << np.uint64(13)
        state ^= state >> np.uint64(7)
        state ^= state << np.uint64(17)
        i = np.int64((state >> np.uint64(8)) % np.uint64(n))
        j = np.int64((state >> np.uint64(34)) % np.uint64(n))
        if i == j:
            continue
        key = _key(a_points, a_normals, i, j, near, far, step)
        if key < 0 or not _frame(a_points, a_normals, i, j, frame_a):
            continue
        at = np.searchsorted(keys, key)
        tried = 0
        while at < len(keys) and keys[at] == key and tried < 400:
            k, m = firsts[at], seconds[at]
            at += 1
            if abs(a_bending[i] - b_bending[k]) > alike:
                continue
            if abs(a_bending[j] - b_bending[m]) > alike:
                continue
            if not _frame(b_points, b_normals, k, m, frame_b):
                continue
            tried += 1
            for x in range(3):
                for y in range(3):
                    rotation[x, y] = 0.0
                    for z in range(3):
                        rotation[x, y] += frame_b[z, x] * frame_a[z, y]
            for x in range(3):
                shift[x] = 0.5 * (b_points[k, x] + b_points[m, x])
                for y in range(3):
                    shift[x] -= rotation[x, y] * 0.5 * (a_points[i, y] + a_points[j, y])
            score = _hits(
                rotation, shift, points, normals, t_points, t_normals, nearest, low, cell,
                counts, hit, EARLY_LEAST,
            )  # fmt: skip
            if score > scores[pair]:
                scores[pair] = score
                rotations[pair] = rotation
                shifts[pair] = shift
        pair += 1
    return rotations, shifts, scores


@jit
def _frame(points, normals, i, j, frame):
    """Rows: along the pair, the mean of the normals across it, and their product."""
    length = along = size = 0.0
    for x in range(3):
        frame[0, x] = points[j, x] - points[i, x]
        frame[1, x] = normals[i, x] + normals[j, x]
        length += frame[0, x] ** 2
    length = np.sqrt(length)
    for x in range(3):
        frame[0, x] /= length
        along += frame[0, x] * frame[1, x]
    for x in range(3):
        frame[1, x] -= along * frame[0, x]
        size += frame[1, x] ** 2
    size = np.sqrt(size)
    if size < 0.3:  # the normals lie along the pair or against each other: nothing is fixed
        return False
    for x in range(3):
        frame[1, x] /= size
    frame[2, 0] = frame[0, 1] * frame[1, 2] - frame[0, 2] * frame[1, 1]
    frame[2, 1] = frame[0, 2] * frame[1, 0] - frame[0, 0] * frame[1, 2]
    frame[2, 2] = frame[0, 0] * frame[1, 1] - frame[0, 1] * frame[1, 0]
    return True


@jit
def _hits(
    rotation, shift, points, normals,
    t_points, t_normals, nearest, low, cell, counts, hit, least,
):  # fmt: skip
    """How many points lie on the target once moved; 0 where too few of the first do."""
    count = 0
    for p in range(len(points)):
        if p == EARLY and count < least:
            return 0
        at, is_in = 0, True
        px = rotation[0, 0] * points[p, 0] + rotation[0, 1] * points[p, 1]
        px += rotation[0, 2] * points[p, 2] + shift[0]
        py = rotation[1, 0] * points[p, 0] + rotation[1, 1] * points[p, 1]
        py += rotation[1, 2] * points[p, 2] + shift[1]
        pz = rotation[2, 0] * points[p, 0] + rotation[2, 1] * points[p, 1]
        pz += rotation[2, 2] * points[p, 2] + shift[2]
        for x in range(3):
            place = px if x == 0 else (py if x == 1 else pz)
            number = np.int64(np.floor((place - low[x]) / cell))
            if number < 0 or number >= counts[x]:
                is_in = False
                break
            at = at * counts[x] + number
        if not is_in or nearest[at] < 0:
            continue
        t = nearest[at]
        off = (px - t_points[t, 0]) * t_normals[t, 0]
        off += (py - t_points[t, 1]) * t_normals[t, 1]
        off += (pz - t_points[t, 2]) * t_normals[t, 2]
        if abs(off) > hit:
            continue
        agree = 0.0
        for x in range(3):
            turned = rotation[x, 0] * normals[p, 0] + rotation[x, 1] * normals[p, 1]
            turned += rotation[x, 2] * normals[p, 2]
            agree += turned * t_normals[t, x]
        count += agree > AGREE_COSINE
    return count
