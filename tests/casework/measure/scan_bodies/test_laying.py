"""Does a fitted form lie where the body was, and are the stated doubts the real ones?"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from casework.benchmark.accuracy.scan_bodies import forms
from casework.benchmark.scanned_bodies import FLAT
from casework.demo.meshes import scan_body_mesh
from casework.measure.scan_bodies.laying import Known, settle, spreads_of
from casework.measure.scan_bodies.scans import prepared
from casework.measure.surfaces.poses import Pose

FITS = 1000


@cache
def seen_body():
    """Vertices and normals of the generator's body above the gum, edges about 0.25 mm.

    Only those that lie on its faces: beside sharp edges its grid cuts corners.
    """
    vertices, faces = scan_body_mesh(FLAT, step_mm=0.25)
    ready = prepared(vertices, faces)
    return ready.only(np.flatnonzero(ready.vertices[:, 2] > 2.8))


@cache
def known():
    return Known.of("flat", forms()["flat"])


def fitted(seed, noise_mm, share):
    """Errors of one small fit and what it states: origin mm, axis deg, turn deg, each twice."""
    random = np.random.default_rng([seed, 5])
    ready = seen_body()
    way = random.uniform(-1.2, 1.2)  # the flat stays in sight
    along = ready.vertices[:, :2] @ [np.cos(way), np.sin(way)]
    kept = ready.only(np.flatnonzero(along > np.quantile(along, 1 - share)))
    motion = Pose.of(random.uniform(-20, 20, 3), random.normal(size=3), random.normal(size=3))
    off = kept.normals * random.normal(0, noise_mm, len(kept.vertices))[:, None]
    scan = replace(
        kept,
        vertices=motion.to_world(kept.vertices + off),
        normals=motion.rigid.turn(kept.normals),
    )
    tilt = Rotation.from_rotvec(random.normal(0, 0.01, 3)).as_matrix()
    start = Pose(
        motion.origin_mm + random.normal(0, 0.03, 3), tilt @ motion.axis, tilt @ motion.toward
    )
    laid = settle(scan, start, known())
    across = np.cross(motion.axis, motion.toward)
    tilted = np.linalg.norm(np.cross(laid.pose.axis, motion.axis))
    turned = np.arctan2(laid.pose.toward @ across, laid.pose.toward @ motion.toward)
    return (
        np.linalg.norm(laid.pose.origin_mm - motion.origin_mm), laid.origin_95_mm,
        np.degrees(np.arcsin(tilted)), laid.axis_95_deg,
        np.degrees(abs(turned)), laid.rotation_95_deg,
    )  # fmt: skip


@pytest.mark.slow
def test_95_of_100_poses_lie_within_their_stated_doubt():
    conditions = ((0.02, 0.6), (0.03, 0.4), (0.05, 0.5), (0.01, 0.9))
    told = np.array([fitted(seed, *conditions[seed % 4]) for seed in range(FITS)])
    for real, stated in ((0, 1), (2, 3), (4, 5)):
        assert 0.93 <= np.mean(told[:, real] <= told[:, stated]) <= 0.97


def test_a_body_without_noise_is_fitted_to_its_tessellation():
    told = fitted(1, 0.0, 0.7)
    assert told[0] < 0.001 and told[2] < 0.01 and told[4] < 0.02


def test_noise_and_misfit_are_told_apart():
    """A known wave under known noise (analysis of variance, H. Scheffé 1959)."""
    random = np.random.default_rng(4)
    points = random.uniform(0, 12, (20_000, 3)) * [1, 1, 0]
    wave = 0.03 * np.sign(np.sin(np.pi * points[:, 0]))  # alike all over each patch of 1 mm
    within, between = spreads_of(points, wave + random.normal(0, 0.02, len(points)))
    assert within == pytest.approx(0.02, rel=0.03)
    assert between == pytest.approx(0.03, rel=0.03)


def test_pure_noise_is_no_misfit():
    random = np.random.default_rng(5)
    points = random.uniform(0, 12, (20_000, 3)) * [1, 1, 0]
    within, between = spreads_of(points, random.normal(0, 0.05, len(points)))
    assert within == pytest.approx(0.05, rel=0.03) and between < 0.004


@pytest.mark.parametrize("height_mm", [-0.22, -0.12, 0.12, 0.22])
def test_a_height_guessed_wrong_is_mended_where_all_else_is_right(height_mm):
    """However closely the walls lie on the form, its top still pulls."""
    start = Pose.of([0, 0, height_mm], [0, 0, 1], [1, 0, 0])
    laid = settle(seen_body(), start, known())
    assert np.linalg.norm(laid.pose.origin_mm) < 0.001
