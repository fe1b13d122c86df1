"""How exactly are clearances, the seat and the wall of a screw channel measured?"""

import numpy as np

from casework.benchmark.accuracy import Row, summary
from casework.benchmark.bored_parts import FLAT, abutment, cone_with_slanted_top
from casework.measure.channels import Part, channel_of, legs_of
from casework.measure.screws import measure_screw
from casework.measure.surfaces.poses import Pose


def rows(seeds: int = 30) -> list[Row]:
    """Return the errors over so many seeded abutments and slanted cones, anywhere in space."""
    found = _abutments(seeds)
    for tilt_deg in (20, 40, 55):
        found += _cones(seeds, tilt_deg)
    return found


def _placed(body, random):
    turn = np.linalg.qr(random.normal(size=(3, 3)))[0]
    turn *= np.linalg.det(turn)
    pose = Pose.of(random.uniform(-40, 40, 3), turn[:, 2], turn[:, 0])
    vertices, faces = body
    vertices = pose.to_world(vertices).astype(np.float32).astype(float)  # as a file holds it
    return Part("part", vertices, faces), pose


def _abutments(seeds):
    errors = {"free radius": [], "head clearance": [], "driver clearance": [], "seat": [],
              "wall, bore beside the middle": []}  # fmt: skip
    for seed in range(seeds):
        random = np.random.default_rng([seed, 41])
        bore, shaft = random.uniform(1.0, 1.4), random.uniform(0.6, 0.9)
        seat, top = random.uniform(0.5, 1.5), random.uniform(5.0, 8.0)
        wall = random.uniform(0.6, 1.2)
        shift = random.uniform(0, 0.6) * wall
        part, pose = _placed(abutment(bore, seat, shaft, top, shift=shift, wall=wall), random)
        head, shank = random.uniform(1.9, 2 * bore - 0.02), random.uniform(1.6, 2 * bore - 0.1)
        screw = {"head_diameter_mm": head, "head_height_mm": 1.5, "seat_height_mm": seat}
        driver = {"shank_diameter_mm": shank, "length_mm": 20.0}
        by = {
            one.quantity: one.value for one in measure_screw("45", pose, [part], screw, driver)
        }
        truth = {
            "free radius": (by["screw_channel_radius"], shaft * FLAT),
            "head clearance": (by["screw_head_clearance"], bore * FLAT - head / 2),
            "driver clearance": (by["driver_clearance"], bore * FLAT - shank / 2),
            "seat": (by["screw_head_rest"], seat),
            "wall, bore beside the middle": (by["channel_wall"], wall - shift),
        }
        for name, (value, true) in truth.items():
            errors[name].append(1000 * (value - true))
    condition = "abutments anywhere in space, single precision"
    return [summary(name, "µm", condition, one) for name, one in errors.items()]


def _cones(seeds, tilt_deg):
    """The wall under a slanted top: across the mantle from the highest place of the rim."""
    errors = []
    for seed in range(seeds):
        random = np.random.default_rng([seed, 42, tilt_deg])
        bore, slope = random.uniform(1.0, 1.3), random.uniform(0.03, 0.12)
        height, wall = random.uniform(5.0, 7.0), random.uniform(0.5, 1.2)
        rim = height + bore * np.tan(np.radians(tilt_deg))
        low = bore + wall + slope * rim
        part, pose = _placed(cone_with_slanted_top(low, slope, height, bore, tilt_deg), random)
        value = channel_of(part, legs_of(pose, 0.0)[0], 0.3).wall()[0]
        errors.append(1000 * (value - wall / np.hypot(1, slope)))
    return [summary("wall under a slanted top", "µm", f"top at {tilt_deg} degrees", errors)]
