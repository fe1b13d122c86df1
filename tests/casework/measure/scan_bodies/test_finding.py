"""Are scan bodies found without a click, where they are, and what is not known said so?"""

from functools import cache

import numpy as np
import pytest

from casework.benchmark.accuracy.scan_bodies import errors, forms
from casework.benchmark.scanned_bodies import arch, segment
from casework.demo.meshes import ScanBodyForm, lower_arch, upper_arch
from casework.measure.scan_bodies.finding import find_scan_bodies
from casework.measure.scan_bodies.forms import form_from_text
from casework.measure.scan_bodies.telling import as_measured
from tests.casework.measure.scan_bodies.bodies import GUM_MM, POSE, body
from tests.shapes import box, rotation

pytestmark = pytest.mark.slow
FLAT = {"flat": forms()["flat"]}


@cache
def whole_arch(jaw="lower"):
    sites = ("45", "47") if jaw == "lower" else ("12", "21")
    make = lower_arch if jaw == "lower" else upper_arch
    return make(4, sites, dict.fromkeys(sites, ScanBodyForm()), implants=sites,
                triangles=60_000, noise_um=20)  # fmt: skip


@pytest.mark.parametrize(
    "noise_um,coverage,origin_um,axis_deg",
    [(20, 0.6, 10, 0.1), (30, 0.4, 25, 0.2), (50, 0.3, 60, 0.6)],
)
@pytest.mark.parametrize("seed", [1, 2])
def test_bodies_are_found_where_they_stand(seed, noise_um, coverage, origin_um, axis_deg):
    told, _taken, more = errors(arch(seed, noise_um=noise_um, coverage=coverage), ("flat",))
    assert None not in told and more == 0
    for (origin, axis, _turn), _stated in told:
        assert origin < origin_um and axis < axis_deg


@pytest.mark.parametrize("damage,tilt_deg", [(False, 40.0), (True, 8.0)])
def test_each_of_three_forms_is_found_as_itself(damage, tilt_deg):
    kinds = ("flat", "slope", "prism")
    told, _taken, more = errors(segment(5, kinds, tilt_deg=tilt_deg, damage=damage), kinds)
    assert None not in told and more == 0
    for (origin, axis, turn), _stated in told:
        assert origin < 15 and axis < 0.15 and (turn is None or turn < 3.0)


@pytest.mark.parametrize("jaw", ["lower", "upper"])
def test_every_body_is_found_however_the_scan_lies_in_space(jaw):
    scan, turn, shift = whole_arch(jaw), rotation(8), np.array([40.0, -300.0, 7.0])

    bodies = find_scan_bodies(scan.vertices @ turn.T + shift, scan.faces, FLAT)

    assert len(bodies.found) == 2
    for implant in scan.implants.values():
        platform = turn @ implant.platform + shift
        away = [np.linalg.norm(one.pose.origin_mm - platform) for one in bodies.found]
        assert min(away) < 0.02


def test_a_click_leaves_the_other_body_alone():
    scan = whole_arch()
    near = scan.implants["45"].platform + 4 * scan.implants["45"].axis
    bodies = find_scan_bodies(scan.vertices, scan.faces, FLAT, near - [0.0, 0.0, 1.0])
    assert np.linalg.norm(bodies.found[0].pose.origin_mm - scan.implants["45"].platform) < 0.02


@pytest.mark.parametrize("prepared", [(), ("34", "36")])
def test_teeth_and_posts_are_no_scan_bodies(prepared):
    scan = lower_arch(7, (), prepared=prepared, triangles=60_000, noise_um=20)
    bodies = find_scan_bodies(scan.vertices, scan.faces, forms())
    assert bodies.found == () and bodies.doubtful == ()


@pytest.mark.parametrize(
    "other,says",
    [
        ("diameter=4.2,height=8,flat_depth=0.7,flat_from=3.6,bevel=0.4", "wide"),
        ("diameter=5,height=8,flat_depth=0.7,flat_from=3.6,bevel=0.4", "wide"),
        ("diameter=4.5,height=8,flat_depth=1.1,flat_from=3.6,bevel=0.4", "flat"),
        ("diameter=4.5,height=8,flat_depth=1.4,flat_from=3.6,bevel=0.4", ""),
        ("diameter=4.5,height=7,flat_depth=0.7,flat_from=3.6,bevel=0.4", "inside"),
    ],
)
def test_a_body_of_another_form_is_said_and_not_fitted_in_silence(other, says):
    bodies = find_scan_bodies(*body(), {"other": form_from_text(other)})
    told = [one.because for one in bodies.doubtful] + [one.problem for one in bodies.found]
    assert len(told) == 1 and told[0] and says in told[0]


def test_of_several_forms_the_right_one_is_taken():
    sought = {
        "wide": form_from_text("diameter=5,height=8,flat_depth=0.7,flat_from=3.6"),
        "narrow": form_from_text("diameter=4.4,height=8,flat_depth=0.7,flat_from=3.6"),
        "right": FLAT["flat"],
        "short": form_from_text("diameter=4.5,height=7,flat_depth=0.7,flat_from=3.6,bevel=0.4"),
    }
    found = find_scan_bodies(*body(), sought).found
    assert [one.form for one in found] == ["right"]


def test_forms_that_a_scan_cannot_tell_apart_are_both_named():
    """Wall and top alone: a longer body of the same width stands deeper."""
    sought = {
        "8 mm": form_from_text("diameter=4.5,height=8,bevel=0.4"),
        "9 mm": form_from_text("diameter=4.5,height=9,bevel=0.4"),
    }

    def behind(local):
        return (local[:, 2] > GUM_MM) & (local[:, 0] < 1.0)

    (found,) = find_scan_bodies(*body(behind), sought).found
    assert {found.form, *found.also_fits} == {"8 mm", "9 mm"}


def test_without_its_top_the_height_is_open():
    def wall(local):
        return (local[:, 2] > 3.9) & (local[:, 2] < 7.0) & (np.abs(local[:, 2] - 3.6) > 0.2)

    (found,) = find_scan_bodies(*body(wall), FLAT).found

    away = found.pose.origin_mm - POSE.origin_mm
    assert np.linalg.norm(np.cross(away, POSE.axis)) < 0.02  # the axis is known all the same
    told = {row.quantity: row for row in as_measured(found, "45")}
    assert told["scan_body_origin"].value is None
    assert "height" in told["scan_body_origin"].because


def test_a_hidden_flat_leaves_the_rotation_open():
    def behind(local):
        return (local[:, 2] > GUM_MM) & (local[:, 0] < 0.3)

    (found,) = find_scan_bodies(*body(behind), FLAT).found

    assert found.rotation_95_deg is None and "not in the scan" in found.rotation_because
    assert np.linalg.norm(found.pose.origin_mm - POSE.origin_mm) < 0.01


def test_a_body_scanned_twice_over_is_found_once():
    vertices, faces = body()
    again = vertices + 0.004 * POSE.toward
    bodies = find_scan_bodies(
        np.concatenate([vertices, again]), np.concatenate([faces, faces + len(vertices)]), FLAT
    )
    assert len(bodies.found) == 1


def test_the_same_scan_gives_the_same_numbers():
    scan = arch(3)
    first, second = (find_scan_bodies(scan.vertices, scan.faces, FLAT).found for _ in range(2))
    assert [one.pose.matrix.tolist() for one in first] == [
        one.pose.matrix.tolist() for one in second
    ]


def test_an_empty_scan_has_no_body():
    bodies = find_scan_bodies(np.zeros((0, 3)), np.zeros((0, 3), int), FLAT)
    assert bodies.found == () and bodies.doubtful == ()


def test_a_box_has_no_body():
    assert find_scan_bodies(*box(), FLAT).found == ()


def test_without_a_form_nothing_can_be_found():
    with pytest.raises(ValueError, match="form"):
        find_scan_bodies(np.zeros((3, 3)), np.array([[0, 1, 2]]), {})


def test_a_tooth_beside_the_body_that_holds_no_axis_is_no_second_body():
    scan = lower_arch(46, ("36",), {"36": ScanBodyForm()}, span=("37", "33"),
                      triangles=60_000, noise_seed=1)  # fmt: skip
    flat = form_from_text("diameter=4.5,height=8,flat_depth=0.7,flat_from=3.6,bevel=0.4")
    found = find_scan_bodies(scan.vertices, scan.faces, {"flat": flat}).found
    assert len(found) == 1
    assert np.linalg.norm(found[0].pose.origin_mm - scan.implants["36"].platform) < 0.01


@pytest.mark.parametrize("seed", [2, 12])
def test_of_a_third_of_each_body_at_30_um_each_form_is_found_as_itself(seed):
    kinds = ("flat", "slope", "prism")
    told, _taken, more = errors(segment(seed, kinds, noise_um=30, coverage=0.3), kinds)
    assert None not in told and more == 0
    assert all(origin < 60 for (origin, _axis, _turn), _stated in told)


@pytest.mark.parametrize("seed", [12, 23])
def test_a_body_is_not_said_to_differ_from_its_form_turned_wrong(seed):
    """Where noise alone holds a turn, fitting it from the right one may lead to a wrong one."""
    kinds = ("flat", "slope", "prism")
    scan = segment(seed, kinds, noise_um=30, coverage=0.3)
    found = find_scan_bodies(scan.vertices, scan.faces, forms()).found
    assert sorted(one.form for one in found) == sorted(kinds)
    assert not any(one.problem for one in found)


def test_a_form_whose_points_spread_beyond_the_noise_is_not_taken():
    scan = segment(1, ("flat", "prism"), noise_um=30, coverage=0.3)
    _flat, (_kind, pose) = scan.bodies
    (one,) = find_scan_bodies(scan.vertices, scan.faces, {"prism": forms()["prism"]}).found
    assert np.linalg.norm(one.pose.origin_mm - pose.origin_mm) < 0.1


def test_a_body_inclined_so_far_that_its_line_leaves_the_jaw_is_found():
    kinds = ("flat", "slope")
    told, _taken, more = errors(segment(28, kinds, tilt_deg=40.0), kinds)
    assert None not in told and more == 0
