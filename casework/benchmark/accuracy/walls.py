"""How exactly are walls and room over abutments measured?"""

import numpy as np

from casework.benchmark.accuracy import Row, summary
from casework.benchmark.turned_parts import drawn_parts, stored
from casework.measure.posts import find_post
from casework.measure.retainers import take_apart
from casework.measure.surfaces.poses import Pose
from casework.measure.walls import ceramic_room, retainer_walls

UP = Pose.of([0, 0, 0], [0, 0, 1])


def rows(seeds: int = 30) -> list[Row]:
    """Return the errors over so many seeded crowns on their abutments, anywhere in space."""
    walls, roofs, rooms = [], [], []
    for seed in range(seeds):
        shift = np.random.default_rng([seed, 4]).uniform(0.0, 0.3)
        parts, rigid = drawn_parts([seed, 5], shift=shift)
        whole = seated(parts, rigid)
        sides = {
            name: rigid.rotation @ np.array(one)
            for name, one in (
                ("buccal", [1.0, 0, 0]), ("lingual", [-1.0, 0, 0]), ("mesial", [0, 1.0, 0]),
                ("distal", [0, -1.0, 0]), ("occlusal", [0, 0, 1.0]),
            )
        }  # fmt: skip
        found = {one.details["region"]: one for one in retainer_walls(whole, "36", sides)}
        walls.append(1000 * (found["lingual"].value - parts.least_wall_mm))
        roofs.append(1000 * (found["occlusal"].value - parts.roof))
        room = {one.details["region"]: one for one in ceramic_room(whole, "36", sides)}
        rooms.append(1000 * (room["lingual"].value - parts.least_wall_mm - parts.gap))
    condition = "outside shifted by up to 0.3 mm"
    return [
        summary("axial wall", "µm", condition, walls),
        summary("occlusal wall", "µm", condition, roofs),
        summary("room over the abutment", "µm", condition, rooms),
    ]


def seated(parts, rigid):
    """A crown on its abutment, taken apart."""
    abutment, crown = parts.abutment(), parts.crown()
    post = find_post(stored(rigid.apply(abutment[0])), abutment[1], UP.moved(rigid))
    return take_apart(stored(rigid.apply(crown[0])), crown[1], {"36": post})
