"""What is a small invented mouth to be pictured: two implants, a bridge, both arches?

Plain bodies, upright in a frame of its own: the bridge is two boxes and a bar between them, the
abutments are tubes. Nothing of it is a form of a real mouth.
"""

import numpy as np

from casework.measure.results import Quantity
from casework.measure.surfaces.poses import Pose, Rigid
from casework.measurements.pictures.shown import Shown
from tests import shapes

STILL = Rigid.none()
SCREWS = {
    site: {
        "screw": {
            "head_diameter_mm": 2.0,
            "head_height_mm": 1.5,
            "shank_diameter_mm": 1.4,
            "seat_height_mm": 1.0,
            "length_mm": 6.0,
        },
        "driver": {"shank_diameter_mm": 1.6, "shank_length_mm": 10.0},
    }
    for site in ("45", "46")
}
PLACES = {"45": (-5.0, 0.0, 0.0), "46": (5.0, 0.0, 0.0)}


def poses(motion=STILL):
    return {
        site: Pose.of(place, [0, 0, 1], [1, 0, 0]).moved(motion)
        for site, place in PLACES.items()
    }


def shown(motion=STILL, *, lengths=True):
    """Both arches, two abutments, a bridge whose lengths run from 0 to 2 mm along it."""
    bridge = shapes.joined(
        shapes.box(8, 8, 7, at=(-9, -4, 3)),
        shapes.box(8, 8, 7, at=(1, -4, 3)),
        shapes.box(4, 3, 3, at=(-2, -1.5, 4)),
    )
    along = (bridge[0][:, 0] + 9) / 9
    bodies = [
        ("file 1", "working_arch", (), sheet(0.5), {}),
        ("file 2", "opposing_arch", (), sheet(12.0), {}),
        *(
            (
                "file 3",
                "abutment",
                (site,),
                moved_by(shapes.tube(2.0, 1.05, 6.0, 32), place),
                {},
            )
            for site, place in PLACES.items()
        ),
        ("file 5", "bridge", ("45", "46"), bridge, {"wall": along, "gap": along / 10}),
    ]
    return [
        Shown(name, role, sites, motion.apply(v), f, fields if lengths else {})
        for name, role, sites, (v, f), fields in bodies
    ]


def sheet(height):
    vertices, faces = shapes.sheet(12, 40.0)
    vertices = vertices - [vertices[:, 0].mean(), vertices[:, 1].mean() - 12.0, -height]
    return vertices, faces


def moved_by(body, shift):
    return body[0] + np.asarray(shift, float), body[1]


def row(
    quantity, subject, value, place, motion=STILL, *, step="restoration", unit="mm", **more
):
    """A measured value as its step gives it; None is not known."""
    kind = Quantity(quantity, quantity, unit, f"how {quantity} is measured")
    place = None if place is None else motion.apply(np.array([place], float))[0]
    if value is None:
        measured = kind.not_known(subject, "The invented part is open.", place)
    else:
        measured = kind.of(subject, value, place, 0.01, **more)
    return {"step": step} | measured.as_dict()


def results(motion=STILL):
    normal = motion.turn(np.array([[1.0, 0, 0]]))[0].tolist()
    return [
        row("wall_thickness", "45", 0.486, (-3.0, 0.0, 5.0), motion),
        row("wall_thickness", "45", 0.486, (-3.0, 0.0, 5.0), motion, region="axial"),
        row("wall_thickness", "45", 0.41, (-3.0, 0.0, 3.1), motion, region="margin"),
        row("wall_thickness", "46", None, None),
        row("marginal_gap", "46", 0.08, (7.0, 0.0, 3.0), motion),
        row("opposing_room", "46", 2.9, (5.0, 2.0, 12.0), motion, step="abutment"),
        row(
            "connector_area", "45-46", 9.0, (0.0, 0.0, 5.5), motion,
            step="connectors", unit="mm2", normal=normal,
        ),
        row("contact", "45", 0.02, (-9.0, 0.0, 8.0), motion),
        row("post_taper", "45", 8.0, None, unit="deg", step="abutment"),
    ]  # fmt: skip
