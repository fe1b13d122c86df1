"""Is the line found along which the walls of a body run, whatever its cross-section?"""

import numpy as np
import pytest

from casework.benchmark.accuracy.scan_bodies import forms
from casework.benchmark.scanned_bodies import segment
from casework.measure.scan_bodies.scans import prepared
from casework.measure.scan_bodies.voting import lines
from casework.measure.scan_bodies.walling import settled_lines
from tests.casework.measure.scan_bodies.bodies import POSE, body


def off(line, pose):
    across = np.linalg.norm(np.cross(line.point_mm - pose.origin_mm, pose.axis))
    return across, np.degrees(np.arccos(min(1.0, abs(line.axis @ pose.axis))))


@pytest.mark.parametrize("side", [-0.3, 0.0, 0.3])
def test_a_line_beside_the_axis_moves_onto_it(side):
    scan = prepared(*body())
    axis = POSE.axis + 0.05 * POSE.toward
    point = POSE.to_world(np.array([[side, 0.2, 5.5]]))[0]

    line, *_others = settled_lines(scan, point, axis / np.linalg.norm(axis), forms()["flat"])

    across, tilt = off(line, POSE)
    assert across < 0.03 and tilt < 0.5
    assert abs(line.wider_mm) < 0.02 and line.miss_mm2 < 0.1 * line.wall_mm2


def test_a_wider_body_is_told_by_its_width():
    scan = prepared(*body(diameter_mm=4.9))
    point = POSE.to_world(np.array([[0.1, 0.0, 5.5]]))[0]
    line, *_others = settled_lines(scan, point, POSE.axis, forms()["flat"])
    assert line.wider_mm == pytest.approx(0.2, abs=0.02)


@pytest.mark.parametrize("kind", ["flat", "slope", "prism"])
def test_the_first_lines_of_a_scan_run_through_its_bodies(kind):
    scan = segment(2, [kind], coverage=0.6)
    found = lines(prepared(scan.vertices, scan.faces), forms()[kind])
    best = min(off(line, scan.bodies[0][1])[0] for line in found[:4])
    assert best < 0.05


@pytest.mark.parametrize("end", [1.0, -1.0])
def test_walls_are_found_from_either_end_of_their_axis(end):
    """From the other end a cross-section is its mirror image, which is no turn of itself."""
    scan = segment(3, ["prism"], coverage=0.3, noise_um=30)
    _kind, pose = scan.bodies[0]
    beside = pose.origin_mm + 5 * pose.axis + 0.3 * pose.toward

    found = settled_lines(
        prepared(scan.vertices, scan.faces), beside, end * pose.axis, forms()["prism"]
    )

    assert min(off(line, pose)[0] for line in found) < 0.05


def test_a_flat_and_a_little_of_the_wall_are_not_taken_for_one_another():
    def corner(local):
        return (local[:, 2] > 2.8) & (local[:, 0] - local[:, 1] > 1.6)

    point = POSE.to_world(np.array([[0.05, -0.51, 5.3]]))[0]
    found = settled_lines(prepared(*body(corner, 30)), point, POSE.axis, forms()["flat"])
    assert min(off(line, POSE)[0] for line in found) < 0.05
