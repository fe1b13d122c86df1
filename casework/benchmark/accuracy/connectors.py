"""How exactly are the connectors of bridges measured?

Bridges are ellipsoids on a straight line or an arch, joined by hyperboloids of one sheet, whose
smallest section is their waist: an ellipse of known axes (elementary geometry). The bodies
overlap as they would be put together by hand.
"""

from dataclasses import dataclass

import numpy as np
from scipy.spatial.transform import Rotation

from casework.benchmark.accuracy import Row, summary
from casework.measure.connectors import connectors

SIDES = 160
SITES = ("14", "13", "12", "11", "21", "22", "23", "24")
ROUNDINGS_MM = (0.45, 1.5)
EDGE_MM = 0.12
DEPTH_MM = 3.6  # half of it, of a unit
CLEAR_MM = 0.15  # from a unit to the plane of the waist beside it


@dataclass(frozen=True, eq=False)
class MadeBridge:
    """A bridge with the truth it was made from: waists (k, 2) as half width and half height."""

    vertices: np.ndarray
    faces: np.ndarray
    sites: tuple[str, ...]
    centres: np.ndarray
    waists: np.ndarray
    places: np.ndarray
    occlusal: np.ndarray


def rows(seeds: int = 30) -> list[Row]:
    """Return the errors over so many seeded bridges of each form."""
    found = []
    for name, is_curved in (("straight", False), ("on an arch", True)):
        bridges = [made_bridge(seed, is_curved) for seed in range(seeds)]
        found += _of_bridges(bridges, f"2 to 6 units, {name}")
    return [*found, _roundings(seeds)]


def _of_bridges(bridges, condition):
    area, height, width, place, lost = [], [], [], [], []
    for one in bridges:
        ends = {one.sites[0]: one.centres[0], one.sites[-1]: one.centres[-1]}
        measured = connectors(one.vertices, one.faces, one.sites, ends, one.occlusal)
        known = {(row.quantity, row.subject): row for row in measured}
        pairs = zip(one.sites, one.sites[1:], one.waists, one.places, strict=False)
        for a, b, (half_width, half_height), at in pairs:
            row = known["connector_area", f"{a}-{b}"]
            lost.append(row.value is None)
            if row.value is None:
                continue
            area.append(100 * (row.value / (np.pi * half_width * half_height) - 1))
            place.append(1000 * np.linalg.norm(np.subtract(row.place_mm, at)))
            height.append(
                1000 * (known["connector_height", row.subject].value - 2 * half_height)
            )
            width.append(1000 * (known["connector_width", row.subject].value - 2 * half_width))
    return [
        summary("smallest section", "%", condition, area),
        summary("height of the section", "µm", condition, height),
        summary("width of the section", "µm", condition, width),
        summary("place of the section", "µm", condition, place),
        summary("connectors not found", "", condition, np.array(lost, float)),
    ]


def _roundings(seeds):
    errors = []
    for seed in range(seeds):
        random = np.random.default_rng([seed, 3])
        rounding = random.uniform(*ROUNDINGS_MM)
        vertices, faces = rounded_neck(rounding, random.uniform(1.3, 2.0))
        turn = Rotation.random(rng=random).as_matrix()
        up = turn @ np.array([1.0, 0, 0])
        measured = connectors(vertices @ turn.T, faces, ("11", "21"), None, up)
        row = next(one for one in measured if one.quantity == "embrasure_radius")
        errors.append(1000 * (row.value - rounding))
    return summary("rounding of the embrasure", "µm", "0.45 to 1.5 mm, facets 0.12 mm", errors)


def made_bridge(seed: int, is_curved: bool) -> MadeBridge:
    """Return a seeded bridge of 2 to 6 units anywhere in space, first unit first or last."""
    random = np.random.default_rng([seed, int(is_curved)])
    count = int(random.integers(2, 7))
    widths = random.uniform(6.0, 9.0, count)
    along = np.cumsum(widths) - widths / 2
    along -= along.mean()
    bend = random.uniform(1 / 30, 1 / 18) if is_curved else 0.0
    turns = along * bend
    centres = np.stack([along, 0 * along, random.uniform(-0.5, 0.5, count)], axis=1)
    if is_curved:
        centres[:, :2] = np.stack([np.sin(turns), np.cos(turns) - 1], axis=1) / bend
    bodies, places, yaws = [], [], []
    waists = random.uniform(1.2, 2.0, (count - 1, 2))
    for k, (half_width, half_height) in enumerate(waists):
        way = centres[k + 1] - centres[k]
        share = widths[k] / (widths[k] + widths[k + 1])
        places.append(centres[k] + share * way + [0, 0, random.uniform(-0.5, 0.5)])
        yaws.append(-np.arctan2(way[1], way[0]) + np.radians(random.uniform(-6, 6)))
        bodies.append(_turned(_waist(half_width, half_height), yaws[k], places[k]))
    for k in range(count):
        beside = [(places[j], yaws[j]) for j in (k - 1, k) if 0 <= j < count - 1]
        half = _half_length(centres[k], turns[k], 0.46 * widths[k], beside)
        bodies.append(_turned(_ellipsoid((half, DEPTH_MM, 4.2)), turns[k], centres[k]))
    vertices, faces = _joined(bodies)
    turn = Rotation.random(rng=random).as_matrix()
    shift = random.uniform(-60, 60, 3)
    start = int(random.integers(0, len(SITES) - count + 1))
    forwards = slice(None, None, int(random.choice([-1, 1])))
    return MadeBridge(
        vertices @ turn.T + shift, faces, SITES[start : start + count],
        (centres @ turn.T + shift)[forwards], waists[forwards],
        (np.array(places) @ turn.T + shift)[forwards], turn @ np.array([0, 0, 1.0]),
    )  # fmt: skip


def _half_length(centre, yaw, most, beside):
    """Half the length of a unit that stays clear of the planes of the waists beside it.

    An ellipsoid reaches as far along a direction as the root of the sum of its squared radii
    times the cosines (elementary geometry).
    """
    for place, plane_yaw in beside:
        normal = np.array([np.cos(plane_yaw), -np.sin(plane_yaw)])
        room = abs((place - centre)[:2] @ normal) - CLEAR_MM
        lean = plane_yaw - yaw
        left = room**2 - (DEPTH_MM * np.sin(lean)) ** 2
        most = min(most, np.sqrt(left) / np.cos(lean))
    return most


def rounded_neck(rounding_mm: float, radius_mm: float):
    """Two rounds of 4 mm and a neck between them that opens with the given rounding."""
    steps = max(8, int(np.ceil(rounding_mm * np.pi / 2 / EDGE_MM)))
    turns = np.linspace(0, np.pi / 2, steps + 1)
    lower = [
        (radius_mm + rounding_mm * (1 - np.sin(t)), -0.8 - rounding_mm * np.cos(t))
        for t in turns
    ]
    foot = 0.8 + rounding_mm
    profile = [(4.0, -foot - 4.0), (4.0, -foot), *lower]
    return _turned_profile([*profile, *((r, -z) for r, z in reversed(profile))], SIDES)


def _ellipsoid(radii):
    turns = np.pi * np.linspace(0, 1, SIDES // 2 + 1)
    profile = [(np.sin(t), -np.cos(t)) for t in turns[1:-1]]
    vertices, faces = _turned_profile(profile, SIDES)
    vertices[-2:] = [[0, 0, -1], [0, 0, 1]]
    return vertices * radii, faces


def _waist(half_width, half_height):
    """A hyperboloid of one sheet along x, 6 mm long, that doubles over 3 mm."""
    heights = np.linspace(-3.0, 3.0, 61)
    profile = [(np.sqrt(1 + (h / 1.75) ** 2), h) for h in heights]
    vertices, faces = _turned_profile(profile, SIDES)
    # Across and up scaled; the axis comes to lie along x.
    return vertices[:, [2, 0, 1]] * [1, half_width, half_height], faces


def _turned_profile(profile, sides):
    """Turn a profile of (radius, height), upwards, about the third axis; closed by two fans."""
    angles = 2 * np.pi * np.arange(sides) / sides
    ring = np.stack([np.cos(angles), np.sin(angles), 0 * angles], axis=1)
    vertices = [ring * [r, r, 1] + [0, 0, h] for r, h in profile]
    vertices.append(np.array([[0, 0, profile[0][1]], [0, 0, profile[-1][1]]]))
    k, n = np.arange(sides), (np.arange(sides) + 1) % sides
    faces = []
    for row in range(len(profile) - 1):
        low, high = row * sides, (row + 1) * sides
        faces += [
            np.stack([low + k, low + n, high + n], 1),
            np.stack([low + k, high + n, high + k], 1),
        ]
    last = (len(profile) - 1) * sides
    foot, top = len(profile) * sides, len(profile) * sides + 1
    faces += [
        np.stack([n, k, np.full(sides, foot)], 1),
        np.stack([last + k, last + n, np.full(sides, top)], 1),
    ]
    return np.vstack(vertices), np.vstack(faces)


def _turned(body, yaw, at):
    cosine, sine = np.cos(yaw), np.sin(yaw)
    turn = np.array([[cosine, sine, 0], [-sine, cosine, 0], [0, 0, 1]])
    return body[0] @ turn.T + at, body[1]


def _joined(bodies):
    counts = np.cumsum([0, *(len(vertices) for vertices, _ in bodies)])
    vertices = np.vstack([vertices for vertices, _ in bodies])
    return vertices, np.vstack(
        [faces + count for (_, faces), count in zip(bodies, counts, strict=False)]
    )
