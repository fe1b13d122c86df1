"""Which small scans hold one scan body, cut as asked, without a jaw around it?"""

from functools import cache

import numpy as np

from casework.benchmark.accuracy.scan_bodies import forms
from casework.demo.meshes import ScanBodyForm, scan_body_mesh
from casework.measure.scan_bodies.laying import Known, lay
from casework.measure.scan_bodies.scans import prepared
from casework.measure.scan_bodies.voting import lines
from casework.measure.surfaces.poses import Pose
from tests.shapes import rotation

POSE = Pose.of([3.0, -4.0, 5.0], *rotation(2)[:2])
GUM_MM = 2.8


@cache
def _body(noise_um, dimensions):
    vertices, faces = scan_body_mesh(ScanBodyForm(**dict(dimensions)), step_mm=0.15)
    ready = prepared(vertices, faces)
    random = np.random.default_rng(3)
    off = random.normal(0, noise_um / 1000, len(vertices))
    return ready.vertices + off[:, None] * ready.normals, np.asarray(faces)


def body(keeps=lambda local: local[:, 2] > GUM_MM, noise_um=15, **dimensions):
    """Vertices and faces of a body at `POSE`, of what `keeps` says in its own coordinates."""
    vertices, faces = _body(noise_um, tuple(sorted(dimensions.items())))
    faces = faces[keeps(vertices)[faces].all(axis=1)]
    return POSE.to_world(vertices), faces


def laid_on(vertices, faces, name="flat"):
    """The form laid on the only body of a scan."""
    scan = prepared(vertices, faces)
    known = Known.of(name, forms()[name])
    return lay(scan, lines(scan, known.form)[0], known)
