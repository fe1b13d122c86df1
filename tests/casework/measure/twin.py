"""What does the slow and obvious way say about a surface? Dictionaries and loops only."""

import math
import struct
from collections import defaultdict


def float32_key(point):
    """Return the float32 bits of a point as three numbers, -0 as +0."""
    rounded = [struct.unpack("<f", struct.pack("<f", float(x)))[0] for x in point]
    return tuple(0.0 if x == 0 else x for x in rounded)


def merge(points):
    """Return the number of each point's vertex and the first point of each vertex."""
    numbers, first, seen = [], [], {}
    for k, point in enumerate(points):
        key = float32_key(point)
        if key not in seen:
            seen[key] = len(first)
            first.append(k)
        numbers.append(seen[key])
    return numbers, first


def components(pairs):
    """Return the groups of things that pairs join, as sets."""
    neighbours = defaultdict(set)
    for a, b in pairs:
        neighbours[a].add(b)
        neighbours[b].add(a)
    found, seen = [], set()
    for start in neighbours:
        if start in seen:
            continue
        group, waiting = set(), [start]
        while waiting:
            one = waiting.pop()
            if one not in group:
                group.add(one)
                waiting.extend(neighbours[one] - group)
        seen |= group
        found.append(group)
    return found


def report(vertices, faces):
    """Return the counts of a surface without thin triangles (collinear, different corners)."""
    kept, seen, degenerate, duplicate = [], set(), 0, 0
    for face in faces:
        face = tuple(int(i) for i in face)
        if len(set(face)) < 3:
            degenerate += 1
        elif frozenset(face) in seen:
            duplicate += 1
        else:
            seen.add(frozenset(face))
            kept.append(face)
    sides = defaultdict(list)
    for a, b, c in kept:
        for i, j in ((a, b), (b, c), (c, a)):
            sides[min(i, j), max(i, j)].append(i < j)
    border = [edge for edge, uses in sides.items() if len(uses) == 1]
    holes = []
    for group in components(border):
        edges = [edge for edge in border if edge[0] in group]
        length = sum(math.dist(vertices[a], vertices[b]) for a, b in edges)
        span = max(math.dist(vertices[a], vertices[b]) for a in group for b in group)
        holes.append((round(length, 6), len(edges), round(span, 6)))
    pieces = components([(f[0], f[1]) for f in kept] + [(f[1], f[2]) for f in kept])
    return {
        "degenerate": degenerate,
        "duplicate": duplicate,
        "triangles": len(kept),
        "holes": sorted(holes, reverse=True),
        "border": len(border),
        "islands": sorted(sum(f[0] in piece for f in kept) for piece in pieces),
        "non_manifold": sum(len(uses) > 2 for uses in sides.values()),
        "crossed": sum(len(uses) == 2 and uses[0] == uses[1] for uses in sides.values()),
        "closed": bool(kept) and all(len(uses) == 2 for uses in sides.values()),
        "lengths": sorted(math.dist(vertices[a], vertices[b]) for a, b in sides),
    }
