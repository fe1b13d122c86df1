"""Do two independent scans agree on how the implants stand to each other?

Compared are distances and angles between implants, which need no common frame. A body of the
second scan is the one that lies at the same place, where the scans share a frame, or else the
one whose distances to the others agree best.
"""

from itertools import combinations, permutations

import numpy as np

from casework.measure.results import Quantity
from casework.measure.sets.places import SITES, poses_of
from casework.measure.sets.plan import NotTold, Outcome, Planned

VERSION = "1"
SAME_PLACE_MM = 2.0
MOST_BODIES = 7  # of which every order is tried; more are matched by their places alone

DISTANCE = Quantity(
    "second_scan_distance", "Distance of two implants: second scan less the first", "mm",
    "difference of the distances between the platform centres in the two scans",
)  # fmt: skip
ANGLE = Quantity(
    "second_scan_angle", "Angle of two implants: second scan less the first", "deg",
    "difference of the angles between the axes in the two scans",
)  # fmt: skip
QUANTITIES = (DISTANCE, ANGLE)


def plan(told):
    if len(told.sites) < 2 or not told.forms:
        return
    second = told.of_role("second_scan")
    if not second:
        yield NotTold(
            "second_scan", "",
            "No second, independent scan of the scan bodies is there: whether a scan of the"
            " implants can be repeated is not measured.",
        )  # fmt: skip
    for file in second:
        yield Planned(
            "second_scan", VERSION, file.name, (), _run, {},
            (SITES, ("scan_bodies", file.name)),
        )  # fmt: skip


def _run(work, planned):
    poses = poses_of(work)
    found = work.handed["scan_bodies", planned.subject].get("found", [])
    pairs = list(combinations(poses, 2))
    if len(poses) < 2:
        return Outcome(
            (DISTANCE.not_known("", "Fewer than two implants are known from the first scan."),)
        )
    if len(found) < len(poses):
        because = (
            f"{len(found)} scan bodies are in {planned.subject} and {len(poses)} in the first"
            " scan: they cannot be compared."
        )
        return Outcome(tuple(DISTANCE.not_known("-".join(pair), because) for pair in pairs))
    origins = np.array([row["origin_mm"] for row in found])
    axes = np.array([row["axis"] for row in found])
    chosen = _matched(poses, origins)
    if chosen is None:
        because = f"Which scan body of {planned.subject} is which cannot be told."
        return Outcome(tuple(DISTANCE.not_known("-".join(pair), because) for pair in pairs))
    results = []
    for one, two in pairs:
        a, b = chosen[one], chosen[two]
        first = np.linalg.norm(poses[one].origin_mm - poses[two].origin_mm)
        second = np.linalg.norm(origins[a] - origins[b])
        angles = _angle(poses[one].axis, poses[two].axis), _angle(axes[a], axes[b])
        name, place = f"{one}-{two}", (poses[one].origin_mm + poses[two].origin_mm) / 2
        results += [
            DISTANCE.of(name, second - first, place, first_mm=first, second_mm=second),
            ANGLE.of(
                name, angles[1] - angles[0], place, first_deg=angles[0], second_deg=angles[1]
            ),
        ]
    return Outcome(tuple(results))


def _matched(poses, origins):
    """The body of the second scan at each site; None where that cannot be told."""
    sites = list(poses)
    first = np.array([poses[site].origin_mm for site in sites])
    away = np.linalg.norm(first[:, None] - origins[None], axis=2)
    near = away.argmin(axis=1)
    if (away.min(axis=1) < SAME_PLACE_MM).all() and len(set(near)) == len(sites):
        return dict(zip(sites, near, strict=True))
    if len(origins) > MOST_BODIES:
        return None
    wanted = np.linalg.norm(first[:, None] - first[None], axis=2)
    apart = np.linalg.norm(origins[:, None] - origins[None], axis=2)

    def off(order):
        return np.abs(apart[np.ix_(order, order)] - wanted).sum()

    best = min(permutations(range(len(origins)), len(sites)), key=off)
    return dict(zip(sites, best, strict=True))


def _angle(one, two):
    return float(np.degrees(np.arctan2(np.linalg.norm(np.cross(one, two)), one @ two)))
