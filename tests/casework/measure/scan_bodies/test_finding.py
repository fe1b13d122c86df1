"""Are scan bodies found without a click, where they are, and what is not known said so?"""

from functools import cache

import numpy as np
import pytest

from casework.benchmark.accuracy.scan_bodies import errors, form, scanned
from casework.demo.meshes import ScanBodyForm, lower_arch, upper_arch
from casework.measure.scan_bodies.finding import as_measured, find_scan_bodies
from casework.measure.scan_bodies.forms import form_from_text
from tests.shapes import rotation

pytestmark = pytest.mark.slow
FORM = form()


@cache
def arch(jaw="lower"):
    sites = ("45", "47") if jaw == "lower" else ("12", "21")
    make = lower_arch if jaw == "lower" else upper_arch
    return make(4, sites, dict.fromkeys(sites, ScanBodyForm()), implants=sites,
                triangles=60_000, noise_um=20)  # fmt: skip


@pytest.mark.parametrize("seed", [1, 2])
@pytest.mark.parametrize("noise_um,share,origin_um", [(20, 0.6, 12), (30, 0.4, 20)])
def test_the_platform_is_found_within_micrometres(seed, noise_um, share, origin_um):
    found, more = errors(seed, noise_um, share, 60_000)
    assert found is not None and more == 0
    assert found[0] < origin_um and found[1] < 0.25


@pytest.mark.parametrize("jaw", ["lower", "upper"])
def test_every_body_is_found_however_the_scan_lies_in_space(jaw):
    scan, turn, shift = arch(jaw), rotation(8), np.array([40.0, -300.0, 7.0])

    bodies = find_scan_bodies(scan.vertices @ turn.T + shift, scan.faces, {"body": FORM})

    assert len(bodies.found) == 2
    for implant in scan.implants.values():
        platform = turn @ implant.platform + shift
        away = [np.linalg.norm(one.pose.origin_mm - platform) for one in bodies.found]
        assert min(away) < 0.02


def test_a_click_leaves_the_other_body_alone():
    scan = arch()
    near = scan.implants["45"].platform + 4 * scan.implants["45"].axis
    bodies = find_scan_bodies(scan.vertices, scan.faces, {"body": FORM}, [near])
    assert len(bodies.found) == 1
    assert np.linalg.norm(bodies.found[0].pose.origin_mm - scan.implants["45"].platform) < 0.02


def test_a_scan_without_a_body_has_none():
    scan = lower_arch(7, (), triangles=60_000, noise_um=20)
    assert find_scan_bodies(scan.vertices, scan.faces, {"body": FORM}).found == ()


@pytest.mark.parametrize(
    "other",
    [
        "diameter=4.1,height=8,flat_depth=0.7,flat_from=3.6",
        "diameter=4.5,height=8,flat_depth=1.4,flat_from=3.6",
    ],
)
def test_a_body_of_another_form_is_said_and_not_fitted(other):
    scan = arch()
    bodies = find_scan_bodies(scan.vertices, scan.faces, {"other": form_from_text(other)})
    told = [one.because for one in bodies.doubtful] + [one.problem for one in bodies.found]
    assert all(one.problem for one in bodies.found) and any(told)


def test_of_two_forms_the_right_one_is_taken():
    scan = arch()
    forms = {"wide": form_from_text("diameter=5,height=8,flat_depth=0.7,flat_from=3.6"),
             "right": FORM}  # fmt: skip
    found = find_scan_bodies(scan.vertices, scan.faces, forms).found
    assert [one.form for one in found] == ["right", "right"]


def test_the_rotation_of_a_round_form_is_not_known():
    scan = arch()
    plain = {"plain": form_from_text("diameter=4.5,height=8,bevel=0.4")}
    for one in find_scan_bodies(scan.vertices, scan.faces, plain).found:
        rows = {row.quantity: row for row in as_measured(one, "45")}
        assert rows["scan_body_rotation"].value is None
        assert "round" in rows["scan_body_rotation"].because


def test_a_hidden_flat_leaves_the_rotation_open():
    vertices, faces, implant = scanned(1, 20, 1.0, 60_000)
    local = implant.local(vertices[faces].mean(axis=1))
    ahead = np.abs(np.arctan2(local[:, 1], local[:, 0])) < 2.0
    near = (np.hypot(local[:, 0], local[:, 1]) < 2.6) & (local[:, 2] > 0)

    found = find_scan_bodies(vertices, faces[~(ahead & near)], {"body": FORM}).found

    assert len(found) == 1 and "not in the scan" in found[0].rotation_because


def test_an_empty_scan_has_no_body():
    bodies = find_scan_bodies(np.zeros((0, 3)), np.zeros((0, 3), int), {"body": FORM})
    assert bodies.found == ()


def test_without_a_form_nothing_can_be_found():
    with pytest.raises(ValueError, match="form"):
        find_scan_bodies(np.zeros((3, 3)), np.array([[0, 1, 2]]), {})
