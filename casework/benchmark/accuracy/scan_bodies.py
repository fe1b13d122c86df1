"""How exactly are scan bodies found and fitted, against the implants a scan was made from?"""

import numpy as np

from casework.benchmark.accuracy import summary
from casework.demo.meshes import ScanBodyForm, lower_arch
from casework.measure.scan_bodies.finding import find_scan_bodies
from casework.measure.scan_bodies.forms import Dimensions, form_of

SITE, SPAN = "36", ("35", "37")
# Noise in µm, share of the body's circumference that is in the scan, triangles of the segment.
CONDITIONS = ((20, 1.0, 60_000), (20, 0.6, 60_000), (30, 0.4, 60_000))
BODY_MM = 2.6  # around the axis everything above the gum is the body


def form():
    """The reference form by its dimensions; the scans are made from a field of their own."""
    told = ScanBodyForm()
    return form_of(
        Dimensions(
            told.diameter_mm, told.height_mm, bevel_mm=told.bevel_mm,
            flat_depth_mm=told.flat_depth_mm, flat_from_mm=told.flat_from_mm,
        )
    )  # fmt: skip


def scanned(seed, noise_um, share, triangles):
    """A segment with one body of which a part of the circumference was not scanned."""
    made = lower_arch(
        seed, (SITE,), {SITE: ScanBodyForm()}, span=SPAN, triangles=triangles,
        noise_um=noise_um, noise_seed=seed,
    )  # fmt: skip
    implant = made.implants[SITE]
    local = implant.local(made.vertices[made.faces].mean(axis=1))
    start = np.random.default_rng([seed, 9]).uniform(-np.pi, np.pi)
    away = np.abs((np.arctan2(local[:, 1], local[:, 0]) - start + np.pi) % (2 * np.pi) - np.pi)
    is_body = (made.parts[made.faces] == 2).all(axis=1)
    is_body &= np.hypot(local[:, 0], local[:, 1]) < BODY_MM
    return made.vertices, made.faces[~(is_body & (away > np.pi * share))], implant


def errors(seed, noise_um, share, triangles):
    """Errors of one case: origin µm, axis deg, rotation deg (None where said not to be known).

    None where the body was missed; the number of bodies too many is the last value.
    """
    vertices, faces, implant = scanned(seed, noise_um, share, triangles)
    found = find_scan_bodies(vertices, faces, {"body": form()}).found
    mine = [one for one in found if np.linalg.norm(one.pose.origin_mm - implant.platform) < 0.5]
    if not mine:
        return None, len(found)
    pose = mine[0].pose
    across = np.cross(implant.axis, implant.flat)
    turn = np.degrees(np.arctan2(pose.toward @ across, pose.toward @ implant.flat))
    tilt = np.degrees(np.arctan2(np.linalg.norm(np.cross(pose.axis, implant.axis)),
                                 pose.axis @ implant.axis))  # fmt: skip
    origin_um = 1000 * np.linalg.norm(pose.origin_mm - implant.platform)
    rotation = None if mine[0].rotation_because else turn
    return (origin_um, tilt, rotation), len(found) - 1


def rows(seeds=30):
    """Errors over seeded segments; a body missed or found too often is a row of its own."""
    for noise_um, share, triangles in CONDITIONS:
        condition = f"{noise_um} µm, {100 * share:.0f} % around"
        told = [errors(seed, noise_um, share, triangles) for seed in range(1, seeds + 1)]
        found = [one for one, _more in told if one is not None]
        yield summary("bodies missed", "", condition, [one is None for one, _more in told])
        yield summary("bodies too many", "", condition, [more for _one, more in told])
        if found:
            yield summary("origin", "µm", condition, [one[0] for one in found])
            yield summary("axis", "deg", condition, [one[1] for one in found])
        turns = [one[2] for one in found if one[2] is not None]
        if turns:
            yield summary("rotation, where known", "deg", condition, turns)
