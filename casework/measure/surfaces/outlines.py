"""Which area do closed loops in a plane enclose, and which outline do several share?

Loops are given as points (k, 2) and starts (l + 1,): loop i runs through the points from
starts[i] to before starts[i + 1] and back to its first. Material lies to the left: an outer
loop runs anticlockwise and has a positive area, a hole the other way.
"""

import numpy as np

from casework.measure.jit import jit

# Loops that share an edge or a corner have no clear crossing. Each loop is drawn larger by its
# own small share of its size, which adds less than 0.001 % to the area.
INFLATION = 1e-6


def signed_areas(points: np.ndarray, starts: np.ndarray) -> np.ndarray:
    """Return the area of each loop in mm2 (l,), negative for a hole."""
    return _moments(points, starts)[:, 0]


def centroid(points: np.ndarray, starts: np.ndarray) -> np.ndarray | None:
    """Return the centre of the enclosed area (2,), None where there is no area."""
    area, x, y = _moments(points, starts).sum(axis=0)
    return np.array([x, y]) / area if area > 0 else None


def perimeter(points: np.ndarray, starts: np.ndarray) -> float:
    """Return the length of all loops in mm."""
    ends = np.roll(points, -1, axis=0)
    filled = starts[:-1] < starts[1:]
    ends[starts[1:][filled] - 1] = points[starts[:-1][filled]]
    return float(np.sqrt(((ends - points) ** 2).sum(axis=1)).sum())


def united(points: np.ndarray, starts: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the outline (points, starts) of all that lies in at least one of the loops.

    Where no loop crosses another or lies within one of the same sense, they come back as they
    are. Loops are not expected to cross themselves.
    """
    areas = signed_areas(points, starts)
    if (areas > 0).sum() < 2 or not _any_boxes_meet(points, starts, areas):
        return points, starts
    return _united(_inflated(points, starts, areas), starts, areas)


@jit
def _moments(points, starts):
    moments = np.zeros((len(starts) - 1, 3))
    for i in range(len(starts) - 1):
        if starts[i] == starts[i + 1]:
            continue
        # About the first point, so that nothing is lost far from the origin.
        cx, cy = points[starts[i], 0], points[starts[i], 1]
        for p in range(starts[i], starts[i + 1]):
            q = p + 1 if p + 1 < starts[i + 1] else starts[i]
            ax, ay = points[p, 0] - cx, points[p, 1] - cy
            bx, by = points[q, 0] - cx, points[q, 1] - cy
            cross = 0.5 * (ax * by - ay * bx)
            moments[i, 0] += cross
            moments[i, 1] += cross * (ax + bx) / 3
            moments[i, 2] += cross * (ay + by) / 3
        moments[i, 1] += cx * moments[i, 0]
        moments[i, 2] += cy * moments[i, 0]
    return moments


@jit
def turning(points, starts):
    """Return by how much the loops turn in all, corners of more than 30 degrees left out."""
    total = 0.0
    for i in range(len(starts) - 1):
        low, n = starts[i], starts[i + 1] - starts[i]
        for p in range(n):
            a, b, c = low + p, low + (p + 1) % n, low + (p + 2) % n
            ux, uy = points[b, 0] - points[a, 0], points[b, 1] - points[a, 1]
            vx, vy = points[c, 0] - points[b, 0], points[c, 1] - points[b, 1]
            turn = abs(np.arctan2(ux * vy - uy * vx, ux * vx + uy * vy))
            if turn < np.pi / 6:
                total += turn
    return total


@jit
def winding(x, y, points, low, high):
    """Return how often the loop from low to before high runs anticlockwise around a place."""
    count = 0
    for p in range(low, high):
        q = p + 1 if p + 1 < high else low
        ay, by = points[p, 1], points[q, 1]
        if (ay <= y) == (by <= y):
            continue
        side = (points[q, 0] - points[p, 0]) * (y - ay) - (x - points[p, 0]) * (by - ay)
        if ay <= y and side > 0:
            count += 1
        elif ay > y and side < 0:
            count -= 1
    return count


@jit
def owners(points, starts, areas):
    """Return for each hole the smallest outer loop around it, for each outer loop itself.

    A hole within nothing is its own.
    """
    own = np.arange(len(areas))
    for i in range(len(areas)):
        if areas[i] >= 0 or starts[i] == starts[i + 1]:
            continue
        best = np.inf
        x, y = points[starts[i], 0], points[starts[i], 1]
        for k in range(len(areas)):
            if 0 < areas[k] < best and winding(x, y, points, starts[k], starts[k + 1]) > 0:
                own[i], best = k, areas[k]
    return own


@jit
def distances(points, starts, areas, x, y):
    """Return how far each outer loop is from a place, 0 around it; inf for a hole."""
    away = np.full(len(areas), np.inf)
    for i in range(len(areas)):
        if areas[i] <= 0:
            continue
        if winding(x, y, points, starts[i], starts[i + 1]) != 0:
            away[i] = 0.0
            continue
        best = np.inf
        for p in range(starts[i], starts[i + 1]):
            q = p + 1 if p + 1 < starts[i + 1] else starts[i]
            ax, ay = points[p, 0] - x, points[p, 1] - y
            sx, sy = points[q, 0] - points[p, 0], points[q, 1] - points[p, 1]
            square = sx * sx + sy * sy
            t = 0.0 if square == 0 else min(max(-(ax * sx + ay * sy) / square, 0.0), 1.0)
            best = min(best, (ax + t * sx) ** 2 + (ay + t * sy) ** 2)
        away[i] = np.sqrt(best)
    return away


@jit
def _boxes(points, starts):
    boxes = np.empty((len(starts) - 1, 4))
    for i in range(len(boxes)):
        boxes[i, 0] = boxes[i, 1] = np.inf
        boxes[i, 2] = boxes[i, 3] = -np.inf
        for p in range(starts[i], starts[i + 1]):
            for x in range(2):
                boxes[i, x] = min(boxes[i, x], points[p, x])
                boxes[i, x + 2] = max(boxes[i, x + 2], points[p, x])
    return boxes


@jit
def _any_boxes_meet(points, starts, areas):
    boxes = _boxes(points, starts)
    for i in range(len(boxes)):
        for k in range(i):
            if areas[i] <= 0 or areas[k] <= 0:
                continue
            if (
                boxes[i, 0] <= boxes[k, 2]
                and boxes[k, 0] <= boxes[i, 2]
                and boxes[i, 1] <= boxes[k, 3]
                and boxes[k, 1] <= boxes[i, 3]
            ):
                return True
    return False


@jit
def _inflated(points, starts, areas):
    grown = points.copy()
    for i in range(len(starts) - 1):
        low, high = starts[i], starts[i + 1]
        mx, my = 0.0, 0.0
        for p in range(low, high):
            mx += points[p, 0] / (high - low)
            my += points[p, 1] / (high - low)
        share = INFLATION * (i + 1) / len(areas)
        for p in range(low, high):
            grown[p, 0] += share * (points[p, 0] - mx)
            grown[p, 1] += share * (points[p, 1] - my)
    return grown


@jit
def _crossings(points, starts):
    """Where segments of different loops cross: rows (segment, share of it, number, x, y)."""
    boxes = _boxes(points, starts)
    rows = np.empty((64, 5))
    count, number = 0, 0
    for i in range(len(boxes)):
        for k in range(i):
            lx, ly = max(boxes[i, 0], boxes[k, 0]), max(boxes[i, 1], boxes[k, 1])
            hx, hy = min(boxes[i, 2], boxes[k, 2]), min(boxes[i, 3], boxes[k, 3])
            if lx > hx or ly > hy:
                continue
            for p in range(starts[i], starts[i + 1]):
                q = p + 1 if p + 1 < starts[i + 1] else starts[i]
                ax, ay, bx, by = points[p, 0], points[p, 1], points[q, 0], points[q, 1]
                if min(ax, bx) > hx or max(ax, bx) < lx or min(ay, by) > hy or max(ay, by) < ly:
                    continue
                for r in range(starts[k], starts[k + 1]):
                    s = r + 1 if r + 1 < starts[k + 1] else starts[k]
                    cx, cy, dx, dy = points[r, 0], points[r, 1], points[s, 0], points[s, 1]
                    if min(ax, bx) > max(cx, dx) or max(ax, bx) < min(cx, dx):
                        continue
                    if min(ay, by) > max(cy, dy) or max(ay, by) < min(cy, dy):
                        continue
                    c_side = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
                    d_side = (bx - ax) * (dy - ay) - (by - ay) * (dx - ax)
                    a_side = (dx - cx) * (ay - cy) - (dy - cy) * (ax - cx)
                    b_side = (dx - cx) * (by - cy) - (dy - cy) * (bx - cx)
                    if (c_side > 0) == (d_side > 0) or (a_side > 0) == (b_side > 0):
                        continue
                    t, u = a_side / (a_side - b_side), c_side / (c_side - d_side)
                    t, u = min(t, 1 - 1e-9), min(u, 1 - 1e-9)
                    if count + 2 > len(rows):
                        longer = np.empty((2 * len(rows), 5))
                        longer[:count] = rows[:count]
                        rows = longer
                    x, y = ax + t * (bx - ax), ay + t * (by - ay)
                    for at, share in ((p, t), (r, u)):
                        rows[count, 0], rows[count, 1], rows[count, 2] = at, share, number
                        rows[count, 3], rows[count, 4] = x, y
                        count += 1
                    number += 1
    return rows[:count]


@jit
def _is_outline(x, y, loop, points, starts, areas):
    """Is a place on a loop outside of all else: does it have material on its left only?"""
    total = 1 if areas[loop] > 0 else 0
    for k in range(len(areas)):
        if k != loop:
            total += winding(x, y, points, starts[k], starts[k + 1])
    return total == 1


@jit
def _united(points, starts, areas):
    rows = _crossings(points, starts)
    order = np.argsort(rows[:, 0] + rows[:, 1])
    total = len(points) + len(rows)
    # Points and crossings in the order of their loops; `crossing` -1 for a plain point.
    xy = np.empty((total, 2))
    crossing = np.full(total, -1, np.int64)
    firsts = np.zeros(len(starts), np.int64)
    at, r = 0, 0
    for i in range(len(starts) - 1):
        firsts[i] = at
        for p in range(starts[i], starts[i + 1]):
            xy[at] = points[p]
            at += 1
            while r < len(order) and rows[order[r], 0] == p:
                xy[at] = rows[order[r], 3:]
                crossing[at] = np.int64(rows[order[r], 2])
                at += 1
                r += 1
    firsts[-1] = at
    keeps = np.zeros(total, np.bool_)  # the stretch from here to the next point
    following = np.empty(total, np.int64)
    leaves = np.full(len(rows) // 2, -1, np.int64)  # the kept stretch that leaves a crossing
    for i in range(len(starts) - 1):
        low, high = firsts[i], firsts[i + 1]
        begin = low
        while begin < high and crossing[begin] < 0:
            begin += 1
        is_free = begin == high
        begin = low if is_free else begin
        is_kept = False
        for k in range(high - low):
            p = low + (begin - low + k) % (high - low)
            q = p + 1 if p + 1 < high else low
            following[p] = q
            if k == 0 or crossing[p] >= 0:
                x, y = 0.5 * (xy[p, 0] + xy[q, 0]), 0.5 * (xy[p, 1] + xy[q, 1])
                is_kept = _is_outline(x, y, i, points, starts, areas)
            keeps[p] = is_kept
            if is_kept and crossing[p] >= 0:
                leaves[crossing[p]] = p
    return _chained(xy, keeps, following, crossing, leaves)


@jit
def _chained(xy, keeps, following, crossing, leaves):
    joined = np.empty_like(xy)
    starts = [0]
    count = 0
    for first in range(len(xy)):
        p = first
        while keeps[p]:
            keeps[p] = False
            joined[count] = xy[p]
            count += 1
            p = following[p]
            if crossing[p] >= 0 and leaves[crossing[p]] >= 0:
                p = leaves[crossing[p]]
        if count > starts[-1]:
            starts.append(count)
    return joined[:count].copy(), np.array(starts, np.int64)
