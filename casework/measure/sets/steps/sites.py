"""Which scan body stands at which site, and where is therefore each implant?

By the point that somebody pointed at, by the pose that the design program states, or by the
order along the arch where as many are found as are ordered. Else nothing is assigned: which is
which is not guessed.
"""

import numpy as np

from casework.measure.results import Quantity
from casework.measure.sets.order import RIGHT_TO_LEFT, from_right_to_left, jaw_of
from casework.measure.sets.places import SITES, handed_pose
from casework.measure.sets.plan import NotTold, Outcome, Planned
from casework.measure.surfaces.poses import Pose

VERSION = "3"
NEAR_MM = 8.0  # from the point pointed at to the body's axis or platform
STATED_MM = 3.0  # from a stated platform to the one found

POSE = Quantity(
    "implant_pose", "Platform centre: radius of its doubt", "µm",
    "the scan body's form fitted to the scan",
)  # fmt: skip
STATED_SHIFT = Quantity(
    "stated_pose_shift", "Platform as the design states it, from the one measured", "mm",
    "distance of the two platform centres",
)  # fmt: skip
STATED_TILT = Quantity(
    "stated_pose_tilt", "Axis as the design states it, from the one measured", "deg",
    "angle between the two axes",
)  # fmt: skip
QUANTITIES = (POSE, STATED_SHIFT, STATED_TILT)


def plan(told):
    scans = told.of_role("working_arch_scan_bodies") if told.forms else ()
    if not told.sites:
        yield NotTold("sites", "", "No implant site is named: nothing is assigned to a site.")
    yield Planned(
        *SITES[:1], VERSION, SITES[1], (), _run,
        {
            "sites": [(one.site, one.near_mm, one.stated_pose, one.scan_body)
                      for one in told.sites],
            "scans": [file.name for file in scans],
        },
        tuple(("scan_bodies", file.name) for file in scans),
    )  # fmt: skip


def _run(work, planned):
    found, arch = [], []
    for name in planned.told["scans"]:
        handed = work.handed["scan_bodies", name]
        found += [row | {"scan": name} for row in handed.get("found", ())]
        arch += list(handed.get("arch_mm", ()))
    sites = work.told.sites
    chosen, how = _assigned(sites, found, np.array(arch, float).reshape(-1, 3))
    results, poses = [], {}
    for site in sites:
        row, stated = chosen.get(site.site), usable(site.stated_pose)
        if site.stated_pose is not None and stated is None:
            results.append(STATED_SHIFT.not_known(site.site, site.stated_pose["because"]))
        if row is not None:
            poses[site.site] = handed_pose(
                _pose(row), "measured", origin_95_mm=row["origin_95_mm"],
                axis_95_deg=row["axis_95_deg"], rotation_known=row["rotation_known"],
            )  # fmt: skip
            results.append(
                POSE.of(
                    site.site, 1000 * row["origin_95_mm"], row["origin_mm"], assigned=how,
                    scan=row["scan"], named_form=site.scan_body, **_told_pose(row),
                )
            )  # fmt: skip
            results += _against_stated(site.site, _pose(row), stated)
        elif stated is not None:
            pose = Pose.of(stated["origin_mm"], stated["axis"], stated["toward"])
            poses[site.site] = handed_pose(pose, "told by the set")
            results.append(_unknown(site.site, found, len(sites), stated["origin_mm"]))
        else:
            results.append(_unknown(site.site, found, len(sites)))
    left = [row for row in found if row not in chosen.values()]
    return Outcome(
        tuple(results),
        {"poses": poses, "left_over": [row["origin_mm"] for row in left], "how": how},
    )


def usable(stated):
    """A stated pose, None where there is none or it cannot be used."""
    return None if stated is None or "because" in stated else stated


def _pose(row):
    return Pose.of(row["origin_mm"], row["axis"], row["toward"])


def _told_pose(row):
    return {key: row[key] for key in ("form", "also_fits", "origin_mm", "axis", "toward")}


def _assigned(sites, found, arch):
    """The body of each site, and by what it was chosen."""
    chosen = {}
    for site in sites:
        if site.near_mm is not None:
            _take_nearest(chosen, site, found, np.array(site.near_mm), NEAR_MM)
        elif (stated := usable(site.stated_pose)) is not None:
            _take_nearest(chosen, site, found, np.array(stated["origin_mm"]), STATED_MM)
    if chosen or not sites or len(found) != len(sites):
        return chosen, "by the places told" if chosen else ""
    jaw = jaw_of(sites[0].site)
    if any(jaw_of(site.site) != jaw for site in sites):
        return {}, ""
    if len(sites) == 1:
        return {sites[0].site: found[0]}, "the only one"
    axes = np.mean([row["axis"] for row in found], axis=0)
    order = from_right_to_left(np.array([row["origin_mm"] for row in found]), axes, jaw, arch)
    if order is None:
        return {}, ""
    names = sorted((site.site for site in sites), key=RIGHT_TO_LEFT[jaw].index)
    return {
        name: found[k] for name, k in zip(names, order, strict=True)
    }, "by the order along the arch"


def _take_nearest(chosen, site, found, place, most_mm):
    free = [row for row in found if row not in chosen.values()]
    away = [_distance(row, place) for row in free]
    if free and min(away) <= most_mm:
        chosen[site.site] = free[int(np.argmin(away))]


def _distance(row, place):
    """From a place to the body, taken as the line from its platform to 10 mm above."""
    origin, axis = np.array(row["origin_mm"]), np.array(row["axis"])
    along = np.clip((place - origin) @ axis, 0.0, 10.0)
    return float(np.linalg.norm(place - origin - along * axis))


def _unknown(site, found, ordered, place_mm=None):
    if not found:
        because = "No scan body was found in the scans."
    elif len(found) == ordered:
        because = (
            "As many scan bodies are in the scans as sites are ordered, but the arch does not"
            " show which is which: point at each."
        )
    else:
        because = (
            f"{len(found)} scan bodies are in the scans and {ordered} sites are ordered: which"
            " is which is not guessed. Point at each, or scan again."
        )
    return POSE.not_known(site, because, place_mm)


def _against_stated(site, pose, stated):
    if stated is None:
        return []
    told = Pose.of(stated["origin_mm"], stated["axis"], stated["toward"])
    shift = np.linalg.norm(told.origin_mm - pose.origin_mm)
    tilt = np.degrees(np.arccos(np.clip(told.axis @ pose.axis, -1, 1)))
    return [
        STATED_SHIFT.of(site, shift, pose.origin_mm),
        STATED_TILT.of(site, tilt, pose.origin_mm),
    ]
