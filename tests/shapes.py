"""Which bodies have a closed form, and what do they measure?

Each maker returns (vertices (m, 3) float64, faces (n, 3) int) of a closed surface, wound so
that its normals point outwards. Round bodies are inscribed: their corners lie on the true
surface, so that area and volume are too small, by the factors given beside them.
"""

import numpy as np

BOX_FACES = np.array(
    [
        [0, 1, 3],
        [0, 3, 2],
        [4, 6, 7],
        [4, 7, 5],
        [0, 4, 5],
        [0, 5, 1],
        [2, 3, 7],
        [2, 7, 6],
        [0, 2, 6],
        [0, 6, 4],
        [1, 5, 7],
        [1, 7, 3],
    ]
)


def box(x=10.0, y=8.0, z=6.0, at=(0.0, 0.0, 0.0)):
    """A box with one corner at a place: area 2 (xy + yz + zx), volume xyz."""
    corners = [[i, j, k] for i in (0, x) for j in (0, y) for k in (0, z)]
    return np.array(corners, float) + np.asarray(at, float), BOX_FACES.copy()


def tetrahedron(x=10.0, y=7.0, z=4.0, at=(0.0, 0.0, 0.0)):
    """A corner tetrahedron with three different legs: volume xyz / 6."""
    corners = np.array([[0, 0, 0], [x, 0, 0], [0, y, 0], [0, 0, z]], float)
    return corners + np.asarray(at, float), np.array(
        [[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]]
    )


def turned_profile(profile, sides):
    """Turn a profile [(radius, z), …] about z; the first and the last point may be on the axis.

    The profile runs upwards along the outside. A closed profile (first = last) makes a ring.
    """
    rows, vertices, faces = [], [], []
    is_ring = profile[0] == profile[-1]
    angles = 2 * np.pi * np.arange(sides) / sides
    for radius, z in profile[:-1] if is_ring else profile:
        if radius == 0:
            rows.append([len(vertices)] * sides)
            vertices.append((0.0, 0.0, z))
        else:
            rows.append(list(range(len(vertices), len(vertices) + sides)))
            vertices.extend((radius * np.cos(a), radius * np.sin(a), z) for a in angles)
    if is_ring:
        rows.append(rows[0])
    for low, high in zip(rows, rows[1:], strict=False):
        for k in range(sides):
            n = (k + 1) % sides
            faces.append((low[k], low[n], high[n]))
            faces.append((low[k], high[n], high[k]))
    faces = np.array([face for face in faces if len(set(face)) == 3])
    return np.array(vertices), faces


def cylinder(radius=5.0, height=6.0, sides=64):
    """A cylinder: volume π r² h, area 2 π r (r + h)."""
    return turned_profile([(0, 0), (radius, 0), (radius, height), (0, height)], sides)


def cone(radius=5.0, height=6.0, sides=64):
    """A cone: volume π r² h / 3, area π r (r + √(r² + h²))."""
    return turned_profile([(0, 0), (radius, 0), (0, height)], sides)


def tube(outer=5.0, inner=3.0, height=6.0, sides=64):
    """A tube with a round hole through it: volume π (R² - r²) h."""
    return turned_profile(
        [(inner, 0), (outer, 0), (outer, height), (inner, height), (inner, 0)], sides
    )


def sphere(radius=5.0, sides=64):
    """A sphere, half as many rings as sides: volume 4/3 π r³, area 4 π r²."""
    rings = sides // 2
    turns = np.pi * np.arange(1, rings) / rings
    profile = [(radius * np.sin(t), -radius * np.cos(t)) for t in turns]
    return turned_profile([(0, -radius), *profile, (0, radius)], sides)


def sheet(cells=20, size=60.0):
    """An open wavy sheet of 2 cells² triangles, with one rim of 4 cells edges."""
    steps = np.arange(cells + 1) * (size / cells)
    x, y = np.meshgrid(steps, steps, indexing="ij")
    vertices = np.stack([x, y, np.sin(x) * np.cos(y)], -1).reshape(-1, 3)
    i = (np.arange(cells)[:, None] * (cells + 1) + np.arange(cells)[None, :]).ravel()
    n = cells + 1
    return vertices, np.vstack(
        [np.stack([i, i + n, i + n + 1], 1), np.stack([i, i + n + 1, i + 1], 1)]
    )


def torus(ring=20.0, tube_radius=5.0, around=48, across=24):
    """A torus: volume 2 π² R r², area 4 π² R r; all its vertices are of six triangles."""
    u, w = np.meshgrid(
        2 * np.pi * np.arange(around) / around,
        2 * np.pi * np.arange(across) / across,
        indexing="ij",
    )
    reach = ring + tube_radius * np.cos(w)
    vertices = np.stack([reach * np.cos(u), reach * np.sin(u), tube_radius * np.sin(w)], -1)
    i, j = np.meshgrid(np.arange(around), np.arange(across), indexing="ij")
    right, up = (i + 1) % around * across, (j + 1) % across
    a, b, c, d = i * across + j, right + j, right + up, i * across + up
    faces = np.concatenate(
        [np.stack([a, b, c], -1).reshape(-1, 3), np.stack([a, c, d], -1).reshape(-1, 3)]
    )
    return vertices.reshape(-1, 3), faces


def polygon_share(sides):
    """Area of a regular polygon inscribed in a circle, as a share of the circle's.

    sin(2π/n) / (2π/n), which is 1 - (2π/n)²/6 and a little more: below 1.
    """
    angle = 2 * np.pi / sides
    return np.sin(angle) / angle


def joined(*bodies):
    """Put bodies into one list of vertices and one of faces."""
    vertices, faces, count = [], [], 0
    for v, f in bodies:
        vertices.append(v)
        faces.append(np.asarray(f) + count)
        count += len(v)
    return np.vstack(vertices), np.vstack(faces)


def rotation(seed):
    """Return a rotation matrix drawn from a seed."""
    q, r = np.linalg.qr(np.random.default_rng(seed).normal(size=(3, 3)))
    q = q * np.sign(np.diag(r))
    return q if np.linalg.det(q) > 0 else -q


def ellipsoid(radii=(4.0, 5.0, 4.5), sides=64, at=(0.0, 0.0, 0.0), turn=None):
    """An ellipsoid with its axes along those of the file, or turned: volume 4/3 π abc."""
    vertices, faces = sphere(1.0, sides)
    turn = np.eye(3) if turn is None else turn
    return (vertices * np.asarray(radii)) @ turn.T + np.asarray(at, float), faces


def bar(start, end, radius=1.5, sides=48):
    """A round bar from one place to another: its section across is a regular polygon."""
    start, way = np.asarray(start, float), np.subtract(end, start).astype(float)
    length = np.linalg.norm(way)
    axis = way / length
    first = np.cross(axis, np.eye(3)[np.argmin(np.abs(axis))])
    first /= np.linalg.norm(first)
    vertices, faces = cylinder(radius, length, sides)
    return vertices @ np.stack([first, np.cross(axis, first), axis]) + start, faces


def bridge_of_ellipsoids(centres, radii, bars, sides=48, turns=None):
    """Ellipsoids at centres (k, 3), joined by bars of the given radii (k - 1,); all overlap."""
    turns = [None] * len(centres) if turns is None else turns
    units = [ellipsoid(radii, sides, at, turn) for at, turn in zip(centres, turns, strict=True)]
    between = zip(centres, centres[1:], bars, strict=False)
    return joined(*units, *(bar(a, b, radius, sides) for a, b, radius in between))
