"""Which loops do the triangles make that a plane passes?

Each triangle that the plane passes gives a segment; segments are chained where they meet on an
edge. That needs neither a closed surface nor one direction of winding: a loop has the direction
of most of its segments, a triangle given twice counts once, and what stays open is joined to
the nearest open end, with the gap told. A corner that lies in the plane counts as above it.
"""

import numpy as np

from casework.measure.jit import jit

RUN = 32  # faces that are passed over together
MOST_CELLS_A_SIDE = 128


@jit
def _height(vertices, v, origin, normal):
    return (
        (vertices[v, 0] - origin[0]) * normal[0]
        + (vertices[v, 1] - origin[1]) * normal[1]
        + (vertices[v, 2] - origin[2]) * normal[2]
    )


@jit
def by_place(vertices, faces):
    """Return the faces sorted so that those near each other in the list are near in space."""
    if len(faces) == 0:
        return faces.copy()
    low, high = np.full(3, np.inf), np.full(3, -np.inf)
    for f in range(len(faces)):
        for x in range(3):
            low[x] = min(low[x], vertices[faces[f, 0], x])
            high[x] = max(high[x], vertices[faces[f, 0], x])
    x, y, z = high[0] - low[0], high[1] - low[1], high[2] - low[2]
    cell = np.sqrt(2 * (x * y + y * z + z * x) * RUN / len(faces))
    cell = max(cell, max(x, y, z) / (MOST_CELLS_A_SIDE - 1), 1e-9)
    ny, nz = np.int64(y / cell) + 1, np.int64(z / cell) + 1
    starts = np.zeros((np.int64(x / cell) + 1) * ny * nz + 1, np.int64)
    at = np.empty(len(faces), np.int64)
    for f in range(len(faces)):
        i = np.int64((vertices[faces[f, 0], 0] - low[0]) / cell)
        j = np.int64((vertices[faces[f, 0], 1] - low[1]) / cell)
        k = np.int64((vertices[faces[f, 0], 2] - low[2]) / cell)
        at[f] = (i * ny + j) * nz + k
        starts[at[f] + 1] += 1
    for c in range(len(starts) - 1):
        starts[c + 1] += starts[c]
    ordered = np.empty_like(faces)
    for f in range(len(faces)):
        place = starts[at[f]]
        starts[at[f]] += 1
        for k in range(3):
            ordered[place, k] = faces[f, k]
    return ordered


@jit
def balls(vertices, faces):
    """Return a ball around each run of faces in their order (k, 4): centre and radius."""
    made = np.zeros(((len(faces) + RUN - 1) // RUN, 4))
    low, high = np.empty(3), np.empty(3)
    for r in range(len(made)):
        low[:], high[:] = np.inf, -np.inf
        for f in range(r * RUN, min((r + 1) * RUN, len(faces))):
            for k in range(3):
                for x in range(3):
                    low[x] = min(low[x], vertices[faces[f, k], x])
                    high[x] = max(high[x], vertices[faces[f, k], x])
        for x in range(3):
            made[r, x] = 0.5 * (low[x] + high[x])
            made[r, 3] += 0.25 * (high[x] - low[x]) ** 2
        made[r, 3] = np.sqrt(made[r, 3]) * (1 + 1e-9)
    return made


@jit
def _segments(vertices, faces, held, origin, normal):
    """Edges where each segment starts and ends (k, 4): two vertices each, the lower first."""
    ends = np.empty((256, 4), np.int64)
    count = 0
    slack = 1e-12 * (np.abs(origin).sum() + 1.0)
    for f in range(len(faces)):
        if f % RUN == 0:
            is_passed = (
                abs(_height(held, f // RUN, origin, normal)) <= held[f // RUN, 3] + slack
            )
        if not is_passed:
            continue
        a, b, c = faces[f, 0], faces[f, 1], faces[f, 2]
        a_above = _height(vertices, a, origin, normal) >= 0
        b_above = _height(vertices, b, origin, normal) >= 0
        c_above = _height(vertices, c, origin, normal) >= 0
        if (a_above == b_above and b_above == c_above) or a == b or b == c or c == a:
            continue
        # p is alone on its side; the segment runs from its edge to q to its edge to r.
        if b_above == c_above:
            p, q, r, is_above = a, b, c, a_above
        elif c_above == a_above:
            p, q, r, is_above = b, c, a, b_above
        else:
            p, q, r, is_above = c, a, b, c_above
        if not is_above:
            q, r = r, q
        if count == len(ends):
            longer = np.empty((2 * count, 4), np.int64)
            longer[:count] = ends
            ends = longer
        ends[count, 0], ends[count, 1] = min(p, q), max(p, q)
        ends[count, 2], ends[count, 3] = min(p, r), max(p, r)
        count += 1
    return ends[:count]


@jit
def _numbered(ends):
    """Numbers of the edges in which segments start and end (k, 2), and how many there are."""
    size = 16
    while size < 4 * len(ends):
        size *= 2
    table = np.full(size, -1, np.int64)
    low, high = np.empty(2 * len(ends), np.int64), np.empty(2 * len(ends), np.int64)
    nodes = np.empty((len(ends), 2), np.int64)
    count = 0
    for s in range(len(ends)):
        for k in range(2):
            i, j = ends[s, 2 * k], ends[s, 2 * k + 1]
            slot = (i * 73856093 + j * 19349663) & (size - 1)
            while table[slot] >= 0 and (low[table[slot]] != i or high[table[slot]] != j):
                slot = (slot + 1) & (size - 1)
            if table[slot] < 0:
                table[slot] = count
                low[count], high[count] = i, j
                count += 1
            nodes[s, k] = table[slot]
    return nodes, low[:count], high[:count]


@jit
def loops(vertices, faces, held, origin, normal, u, v):
    """Return the chained segments: points (k, 2), starts (l + 1,), the widest gap bridged.

    `held` are the balls around the runs of faces, which a plane that misses them passes over.
    """
    nodes, low, high = _numbered(_segments(vertices, faces, held, origin, normal))
    xy = np.empty((len(low), 2))
    for n in range(len(low)):
        i, j = low[n], high[n]
        below = _height(vertices, i, origin, normal)
        share = below / (below - _height(vertices, j, origin, normal))
        x, y = 0.0, 0.0
        for k in range(3):
            at = vertices[i, k] + share * (vertices[j, k] - vertices[i, k]) - origin[k]
            x += at * u[k]
            y += at * v[k]
        xy[n, 0], xy[n, 1] = x, y
    heads = np.full(len(low), -1, np.int64)  # a list of segments for each node
    following = np.empty(2 * len(nodes), np.int64)
    is_used = np.zeros(len(nodes), np.bool_)
    degree = np.zeros(len(low), np.int64)
    for s in range(len(nodes)):
        # The same segment once more, or back again (a fold), adds nothing.
        r = heads[nodes[s, 0]]
        while r >= 0:
            if nodes[r // 2, 1 - r % 2] == nodes[s, 1] and not is_used[r // 2]:
                is_used[s] = True
                is_used[r // 2] = r % 2 == 1
                break
            r = following[r]
        for k in range(2):
            following[2 * s + k] = heads[nodes[s, k]]
            heads[nodes[s, k]] = 2 * s + k
    for s in range(len(nodes)):
        if not is_used[s]:
            degree[nodes[s, 0]] += 1
            degree[nodes[s, 1]] += 1
    return _walked(xy, nodes, heads, following, is_used, degree)


@jit
def _walked(xy, nodes, heads, following, is_used, degree):
    chain = np.empty(2 * len(nodes) + 2, np.int64)
    starts = [0]
    is_open = [False]
    count = 0
    for turn in range(2):  # chains with an open end first, then rings
        for first in range(len(nodes)):
            for end in range(2):
                node = nodes[first, end]
                if is_used[first] or (turn == 0 and degree[node] % 2 == 0):
                    continue
                begin, s, k, vote = count, first, end, 0.0
                origin_node = node
                while s >= 0:
                    is_used[s] = True
                    chain[count] = node
                    count += 1
                    other = nodes[s, 1 - k]
                    length = np.sqrt(
                        (xy[other, 0] - xy[node, 0]) ** 2 + (xy[other, 1] - xy[node, 1]) ** 2
                    )
                    vote += length if k == 0 else -length
                    degree[node] -= 1
                    degree[other] -= 1
                    node = other
                    if node == origin_node:
                        break
                    s, r, best = -1, heads[node], 2
                    while r >= 0:
                        if not is_used[r // 2] and abs(r % 2 - k) < best:
                            s, best, side = r // 2, abs(r % 2 - k), r % 2
                        r = following[r]
                    if s >= 0:
                        k = side
                is_ring = node == origin_node
                if not is_ring:
                    chain[count] = node
                    count += 1
                if vote < 0:
                    chain[begin:count] = chain[begin:count][::-1].copy()
                starts.append(count)
                is_open.append(not is_ring)
    return _closed(xy, chain[:count], np.array(starts), np.array(is_open)[1:])


@jit
def _closed(xy, chain, starts, is_open):
    """Join open chains end to nearest beginning, and tell the widest gap."""
    points = np.empty((len(chain), 2))
    ends = [0]
    count, gap = 0, 0.0
    is_left = np.ones(len(is_open), np.bool_)
    for first in range(len(is_open)):
        if not is_left[first]:
            continue
        one = first
        while True:
            is_left[one] = False
            for p in range(starts[one], starts[one + 1]):
                points[count] = xy[chain[p]]
                count += 1
            if not is_open[one]:
                break
            x, y = xy[chain[starts[one + 1] - 1], 0], xy[chain[starts[one + 1] - 1], 1]
            nearest, best = first, np.inf
            for k in range(len(is_open)):
                if not is_open[k] or (not is_left[k] and k != first):
                    continue
                b = chain[starts[k]]
                away = np.sqrt((xy[b, 0] - x) ** 2 + (xy[b, 1] - y) ** 2)
                if away < best:
                    nearest, best = k, away
            gap = max(gap, best)
            if nearest == first:
                break
            one = nearest
        ends.append(count)
    return points[:count].copy(), np.array(ends, np.int64), gap
