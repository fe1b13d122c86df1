"""Does the order along an arch run from the patient's right to left, however the scan lies?"""

import numpy as np
import pytest

from casework.demo.meshes import lower_arch, upper_arch
from casework.measure.sets.order import RIGHT_TO_LEFT, from_right_to_left, jaw_of
from tests.shapes import rotation

# Sites in the order of ISO 3950, from the patient's right to left, written by hand.
SPANS = {
    ("47", "46", "45"): ("48", "42"),
    ("35", "36", "37"): ("33", "37"),
    ("42", "31", "33"): None,
    ("46", "44", "34", "36"): None,
    ("17", "15"): None,
    ("12", "11", "22"): ("14", "24"),
    ("24", "26"): ("23", "27"),
}


@pytest.mark.parametrize("sites", SPANS, ids="-".join)
@pytest.mark.parametrize("seed", [1, 2])
def test_implants_stand_in_the_order_of_their_sites(sites, seed):
    scan = lower_arch if jaw_of(sites[0]) == "lower" else upper_arch
    span = SPANS[sites]
    if span and "48" in span:
        span = ("47", "42")
    mesh = scan(seed, sites, implants=sites, span=span, triangles=8000, noise_um=0)
    turn, shift = rotation(seed), np.array([30.0, -80.0, 5.0])
    shuffled = sorted(sites)
    origins = np.array([mesh.implants[site].platform for site in shuffled]) @ turn.T + shift
    axis = np.mean([mesh.implants[site].axis for site in sites], axis=0) @ turn.T

    order = from_right_to_left(origins, axis, jaw_of(sites[0]), mesh.vertices @ turn.T + shift)

    assert [shuffled[k] for k in order] == list(sites)


def test_a_straight_stretch_tells_no_order():
    line = np.column_stack([np.linspace(0, 20, 500), np.zeros(500), np.zeros(500)])
    assert from_right_to_left(line[[0, -1]], np.array([0, 0, 1.0]), "lower", line) is None


def test_every_tooth_has_its_place():
    assert RIGHT_TO_LEFT["upper"][7:9] == ["11", "21"] and len(RIGHT_TO_LEFT["lower"]) == 16
