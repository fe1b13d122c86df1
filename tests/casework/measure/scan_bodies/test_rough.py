"""Does the grid around a form hold the distances from it?"""

import numpy as np
import pytest

from casework.benchmark.accuracy.scan_bodies import forms
from casework.benchmark.scanned_bodies import FIELDS
from casework.measure.scan_bodies.rough import NODE_MM, Nodes, starts
from casework.measure.scan_bodies.scans import prepared
from tests.casework.measure.scan_bodies.bodies import POSE, body


@pytest.mark.parametrize("kind", ["flat", "slope", "prism"])
def test_nodes_hold_the_distance_of_the_field_the_scans_are_made_from(kind):
    nodes = Nodes.of(forms()[kind])
    places = np.stack(np.indices(nodes.held.shape[:3]), axis=-1) * NODE_MM + nodes.low
    field = FIELDS[kind](places.reshape(-1, 3)).reshape(places.shape[:3])
    held = nodes.held[..., 0]
    near = np.abs(field) < 0.3
    # The field is a distance beside faces only: around edges it is smaller.
    assert np.quantile(np.abs(held - field)[near], 0.8) < 0.03
    assert (np.sign(held) == np.sign(field))[np.abs(field) > 0.1].mean() > 0.99


def test_the_best_rough_pose_is_near_the_body():
    scan = prepared(*body())
    form = forms()["flat"]
    point = POSE.to_world(np.array([[0.0, 0.0, 5.0]]))[0]
    found = starts(
        scan.vertices, scan.normals, scan.areas, point, -POSE.axis, form, Nodes.of(form)
    )
    _area, pose = found[0]
    assert pose.axis @ POSE.axis > 0.999
    assert np.linalg.norm(pose.origin_mm - POSE.origin_mm) < 0.3
    assert np.degrees(np.arccos(min(1.0, pose.toward @ POSE.toward))) <= 15.1
