"""How exactly are changes of a scan, its frame and its noise told?"""

import numpy as np
from scipy.spatial.transform import Rotation

from casework.benchmark.accuracy import Row, summary
from casework.demo.meshes.arches import lower_arch
from casework.demo.meshes.jaws import lower_jaw
from casework.demo.meshes.scan_bodies import ScanBodyForm
from casework.measure.change import NEAR_MM, compare, scan_body_moved
from casework.measure.frames import same_frame, same_patient
from casework.measure.meshes import Mesh
from casework.measure.noise import noise_level
from casework.measure.scan_bodies.finding import find_scan_bodies
from casework.measure.scan_bodies.forms import Dimensions, form_of
from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.normals import face_areas, vertex_normals
from casework.measure.surfaces.pieces import compacted
from casework.measure.surfaces.poses import Rigid
from casework.measure.surfaces.smoothing import smoothed

GAP, HELD = ("45", "46", "47"), ("45", "47")
TRIANGLES = (105_000, 140_000, 220_000)  # median edges 0.30 to 0.20 mm
NOISES_UM = (5, 10, 20, 35, 50)
BUMP_MM, BUMP_WIDE_MM = 0.15, 1.0
REACH_MM = 0.5  # farther than any bump stands off
CUT_MM = 3.0
BODY_MOVED_MM = 0.04
FORM = Dimensions(4.5, 8.0, flat_depth_mm=0.7, flat_from_mm=3.6, bevel_mm=0.4)  # demo's own
NEAR_BODY_MM = 0.12  # corners of the scan body are those so near to its form


def rows(seeds: int = 30) -> list[Row]:
    """Return the errors over so many seeded lower arches with two scan bodies.

    Each is processed (smoothed over two edges) after one thing was done to it, whose size is
    known; noise, density and places differ from seed to seed.
    """
    errors = {}
    for seed in range(seeds):
        for name, error in _case(seed):
            errors.setdefault(name, []).append(error)
    return [summary(*name, values) for name, values in errors.items()]


def _case(seed):
    random = np.random.default_rng([seed, 11])
    noise_um = NOISES_UM[seed % len(NOISES_UM)]
    triangles = TRIANGLES[seed % len(TRIANGLES)]
    forms = {site: ScanBodyForm() for site in HELD}
    scan, clean = (
        lower_arch(seed, GAP, forms, triangles=triangles, noise_um=one, noise_seed=1)
        for one in (noise_um, 0)
    )
    raw = scan.vertices, scan.faces.astype(np.int32)
    done = smoothed(*raw, 2), raw[1]
    at = _inner_place(random, *done)
    yield from _noise(raw, noise_um)
    yield from _bump(raw, done, clean.vertices, at, noise_um)
    yield from _cut(raw, done, at)
    yield from _whole(raw, done, random)
    yield from _body(raw, done, scan, random)
    yield from _frames(raw, seed, triangles, noise_um, random)


def _mesh(vertices, faces):
    return Mesh(vertices, faces)


def _value(results, name):
    return next(one for one in results if one.quantity == name)


def _inner_place(random, vertices, faces):
    """A vertex well inside of the rim: above the lower third of the scan."""
    high = np.flatnonzero(vertices[:, 2] > np.quantile(vertices[:, 2], 0.4))
    return vertices[random.choice(high)]


def _noise(raw, noise_um):
    found = noise_level(*raw)
    yield ("noise", "%", "5 to 50 µm"), 100 * (found.sigma_um / noise_um - 1)


def _bump(raw, done, clean, at, noise_um):
    """The truth is how far that scan without noise and the same bump on it are apart there."""
    vertices, faces = done
    height, _ = _heights(vertices, at)
    bumped = _mesh(vertices + vertex_normals(vertices, faces) * height[:, None], faces)
    even = smoothed(clean, faces, 2)
    height, is_near = _heights(even, at)
    even = even + vertex_normals(even, faces) * height[:, None]
    true = max(
        Nearest(one, faces, REACH_MM).closest(other[is_near]).distance_mm.max()
        for one, other in ((clean, even), (even, clean))
    )
    found = compare(_mesh(*raw), bumped, subject="", near={"bump": at[None]})
    value = _value(found.results, "change_near").value
    noise = "noise 5 to 20 µm" if noise_um <= 20 else "noise 35 and 50 µm"
    condition = f"0.15 mm high, 1 mm wide (σ), {noise}"
    yield ("height of a bump", "%", condition), 100 * (value / true - 1)


def _heights(vertices, at):
    """How high the bump is at each vertex, and which are near it."""
    away = np.linalg.norm(vertices - at, axis=1)
    return BUMP_MM * np.exp(-(away**2) / (2 * BUMP_WIDE_MM**2)), away <= NEAR_MM


def _cut(raw, done, at):
    vertices, faces = done
    is_cut = np.linalg.norm(vertices[faces].mean(axis=1) - at, axis=1) < CUT_MM
    cut = compacted(vertices, faces[~is_cut])
    true = face_areas(*raw)[is_cut].sum()
    lost = compare(_mesh(*raw), _mesh(*cut), subject="")
    added = compare(_mesh(*cut), _mesh(*raw), subject="")
    condition = "within 3 mm of a place"
    for name, found in (("missing_area", lost), ("invented_area", added)):
        value = _value(found.results, f"change_{name}").value
        yield (name.replace("_", " "), "%", condition), 100 * (value / true - 1)


def _whole(raw, done, random):
    turn = Rotation.from_rotvec(random.normal(0, np.radians(5), 3)).as_matrix()
    there = Rigid(turn, random.normal(0, 10, 3))
    moved = there.apply(done[0])
    found = compare(_mesh(*raw), _mesh(moved, done[1]), subject="")
    off = np.linalg.norm(found.placement.apply(raw[0]) - there.apply(raw[0]), axis=1)
    yield ("motion of the whole, farthest corner", "µm", "by 17 mm and 9°"), 1000 * off.max()
    mirror = _mesh(moved * [-1, 1, 1], done[1][:, ::-1])
    is_told = compare(_mesh(*raw), mirror, subject="").kind == "mirrored"
    yield ("mirror image not told", "", "smoothed and moved"), float(not is_told)


def _body(raw, done, scan, random):
    """One scan body moved by a known vector, told by its pose in both scans."""
    implant = scan.implants["45"]
    local = implant.local(scan.vertices)
    round_about = np.hypot(local[:, 0], local[:, 1])
    on_body = (scan.parts == 2) & (round_about < 2.25 + NEAR_BODY_MM) & (local[:, 2] < 8.5)
    way = random.normal(size=3)
    way *= BODY_MOVED_MM / np.linalg.norm(way)
    moved = done[0].copy()
    moved[on_body] += way
    form = {"form": form_of(FORM)}
    near = [implant.platform + 4 * implant.axis]
    before, after = (
        [
            one.pose
            for one in find_scan_bodies(vertices, raw[1], form, near).found
            if np.linalg.norm(one.pose.origin_mm - implant.platform) < 1.0
        ]
        for vertices in (raw[0], moved)
    )
    is_found = len(before) == len(after) == 1
    yield ("moved scan body not found", "", "by 40 µm"), float(not is_found)
    if is_found:
        told, _ = scan_body_moved("45", before[0], after[0])
        error = np.array(told.details["vector_um"]) - 1000 * way
        yield ("moved scan body, vector", "µm", "by 40 µm"), np.linalg.norm(error)


def _frames(raw, seed, triangles, noise_um, random):
    """Scans without scan bodies: in the same frame, slipped, of another time or patient."""
    scan = _mesh(*raw)
    other = lower_arch(seed, GAP, triangles=triangles, noise_um=noise_um, noise_seed=2)
    implants = lower_jaw(seed, GAP).implants.values()
    axes = np.array([one.platform + up * one.axis for one in implants for up in range(9)])
    turn = Rotation.from_rotvec(random.normal(0, np.radians(0.1), 3)).as_matrix()
    slip = Rigid(turn, random.normal(0, 0.1, 3))
    true = np.linalg.norm(slip.apply(axes) - axes, axis=1).max()
    for condition, there in (("in place", Rigid.none()), ("slipped by 0.2 mm", slip)):
        found = same_frame(
            scan, _mesh(there.apply(other.vertices), other.faces.astype(np.int32)), subject="",
            apart_from=axes,
        )  # fmt: skip
        told = _value(found.results, "frame_shift")
        shift = told.details["shift_at_places_left_out_mm"]
        yield (
            ("shift of the frame at the scan bodies", "µm", condition),
            1000 * (shift - (0.0 if there is not slip else true)),
        )
        turned = _value(found.results, "frame_turn").value
        yield (
            ("turn of the frame", "deg", condition),
            turned - (0.0 if there is not slip else slip.angle_deg),
        )
    away = Rigid(Rotation.random(random_state=seed).as_matrix(), random.normal(0, 50, 3))
    for name, patient, gap in (
        ("same patient refused", seed, ()), ("other patient accepted", seed + 500, GAP),
    ):  # fmt: skip
        earlier = lower_arch(patient, gap, triangles=triangles, noise_um=noise_um, noise_seed=3)
        there = away.apply(earlier.vertices), earlier.faces.astype(np.int32)
        found = same_patient(scan, _mesh(*there), subject="")
        is_same = found.kind == "moved"
        yield (name, "", "earlier scan, anywhere"), float(is_same != (patient == seed))
