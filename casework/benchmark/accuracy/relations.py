"""How exactly are divergence, common path of insertion, draft, undercut and taper measured?"""

import numpy as np

from casework.benchmark.accuracy import Row, summary
from casework.benchmark.bored_parts import ring
from casework.measure.relations import Wall, between_implants, insertion_path, post_taper
from casework.measure.surfaces.poses import Pose

SIDES = 128  # facets of 0.12 mm; float32 tilts narrower ones by 0.01 degrees
LEVELS = 13
HEIGHT_MM = 5.0


def rows(seeds: int = 30) -> list[Row]:
    """Return the errors over so many seeded pairs of round posts, some with an undercut.

    For two cones the least draft is greatest on the arc between their axes, where both drafts
    are equal: (t1 + t2 - angle) / 2; where one taper is too much the greater, on the axis of
    the other (elementary geometry).
    """
    errors = {"free": [], "undercut": []}
    for seed in range(seeds):
        random = np.random.default_rng([seed, 31])
        for condition, high in (("free", 8.0), ("undercut", 3.0)):
            tapers = random.uniform(2.5, high, 2)
            least = 2.0 if condition == "free" else tapers.sum() + 0.5
            most = max(tapers.sum() - 1.0, 2.5) if condition == "free" else least + 6.0
            angle = random.uniform(least, most)
            errors[condition].append(_pair(random, tapers, angle))
    found = []
    for condition, words in (
        ("free", "two posts that slide on"),
        ("undercut", "two posts that overhang"),
    ):
        divergence, path, draft, depth, taper = np.array(errors[condition]).T
        found += [
            summary("divergence", "deg", words, divergence),
            summary("path of insertion", "deg", words, path),
            summary("least draft", "deg", words, draft),
            summary("undercut", "µm", words, 1000 * depth),
            summary("total taper", "deg", words, taper),
        ]
    return found


def _pair(random, tapers, angle):
    """Errors of divergence, path, draft (degrees), undercut (mm) and taper (degrees)."""
    turn = np.linalg.qr(random.normal(size=(3, 3)))[0]
    turn *= np.linalg.det(turn)
    axes = [np.array([0, 0, 1.0]), _leaning(angle)]
    walls, poses = [], {}
    for site, taper, axis, at in zip(("45", "47"), tapers, axes, (0.0, 18.0), strict=True):
        pose = Pose.of(turn @ [at, 0, 0], turn @ axis)
        walls.append(_post(site, taper, pose, random.uniform(2.0, 3.0)))
        poses[site] = pose
    found = {(one.quantity, one.subject): one for one in insertion_path(walls, poses)}
    whole = found["path_draft", "45-47"]
    first = np.clip((angle + tapers[0] - tapers[1]) / 2, 0.0, angle)
    best = turn @ _leaning(first)
    off = np.cross(best, whole.details["direction"])
    least = min(tapers[0] - first, tapers[1] - (angle - first))
    depths = [
        _depth(tapers[0], tapers[0] - first), _depth(tapers[1], tapers[1] - (angle - first)),
    ]  # fmt: skip
    divergence = next(
        one for one in between_implants(poses) if one.quantity == "implant_divergence"
    )
    return (
        divergence.value - angle,
        np.degrees(np.linalg.norm(off)),
        whole.value - least,
        max(
            abs(found["path_undercut", wall.site].value - depth)
            for wall, depth in zip(walls, depths, strict=True)
        ),
        max(
            abs(post_taper(wall).value - 2 * taper)
            for wall, taper in zip(walls, tapers, strict=True)
        ),
    )


def _leaning(angle_deg):
    return np.array([np.sin(np.radians(angle_deg)), 0.0, np.cos(np.radians(angle_deg))])


def _depth(taper_deg, draft_deg):
    """How far a wall of that draft leans out over its foot."""
    length = HEIGHT_MM / np.cos(np.radians(taper_deg))
    return max(-np.sin(np.radians(draft_deg)), 0.0) * length


def _post(site, taper_deg, pose, radius):
    rise = np.linspace(0, HEIGHT_MM, LEVELS)
    slope = np.tan(np.radians(taper_deg))
    vertices = np.vstack([ring(radius - slope * z, z, SIDES) for z in rise])
    k = np.arange(SIDES)
    after = (k + 1) % SIDES
    faces = [
        np.column_stack([a + corner for corner in corners])
        for a in SIDES * np.arange(LEVELS - 1)
        for corners in ((k, after, after + SIDES), (k, after + SIDES, k + SIDES))
    ]
    # As a file holds it.
    vertices = pose.to_world(vertices).astype(np.float32).astype(float)
    return Wall.of(site, vertices, np.vstack(faces))
