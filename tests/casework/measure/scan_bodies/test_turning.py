"""Is the turn of a scan body found, and is it said where its points do not tell it?"""

from dataclasses import replace

import numpy as np
import pytest

from casework.benchmark.accuracy.scan_bodies import forms
from casework.measure.scan_bodies.forms import form_from_text, form_of_mesh
from casework.measure.scan_bodies.laying import Known, settle
from casework.measure.scan_bodies.scans import prepared
from casework.measure.scan_bodies.turning import turned
from casework.measure.surfaces.poses import Pose
from tests.casework.measure.scan_bodies.bodies import GUM_MM, POSE, body, laid_on
from tests.shapes import box


def off_deg(pose, times=1):
    turn = np.degrees(
        np.arctan2(pose.toward @ np.cross(POSE.axis, POSE.toward), pose.toward @ POSE.toward)
    )
    period = 360 / times
    return abs((turn + period / 2) % period - period / 2)


def test_the_flat_tells_the_turn():
    turn = turned(laid_on(*body()))
    assert turn.because == "" and turn.gap > 100
    assert off_deg(turn.laid.pose) < 0.2


def test_a_wrong_turn_is_put_right():
    laid = laid_on(*body())
    across = np.cross(POSE.axis, POSE.toward)
    for degrees in (40, 150, 260):
        way = np.radians(degrees)
        toward = np.cos(way) * POSE.toward + np.sin(way) * across
        wrong = settle(
            laid.around, Pose(POSE.origin_mm, POSE.axis, toward), laid.known, range(2)
        )
        turn = turned(wrong or replace(laid, pose=Pose(POSE.origin_mm, POSE.axis, toward)))
        assert off_deg(turn.laid.pose) < 0.3 and turn.because == ""


def test_a_hidden_flat_leaves_the_turn_open():
    def behind(local):
        return (local[:, 2] > GUM_MM) & (local[:, 0] < 0.3)

    turn = turned(laid_on(*body(behind)))

    assert "is not in the scan" in turn.because
    assert np.linalg.norm(turn.laid.pose.origin_mm - POSE.origin_mm) < 0.01


def test_a_round_form_has_no_turn():
    vertices, faces = body()
    plain = Known.of("plain", form_from_text("diameter=4.5,height=8,bevel=0.4"))
    laid = settle(prepared(vertices, faces), POSE, plain)
    assert "round" in turned(laid).because


def test_a_square_form_has_four_turns():
    vertices, faces = box(4, 4, 8, at=(-2, -2, 0))
    square = form_of_mesh(vertices, faces)
    places, _face = square.samples
    fine = form_of_mesh(square.vertices, square.faces)  # as dense as its own reference
    scan = prepared(POSE.to_world(fine.vertices), fine.faces)
    laid = settle(scan, POSE, Known.of("square", square))
    assert laid is None or "after every 90°" in turned(laid).because


@pytest.mark.parametrize("name", ["slope", "prism"])
def test_forms_without_symmetry_have_one_turn(name):
    assert forms()[name].turns == 1
