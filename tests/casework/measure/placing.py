"""Where in space does a body stand, so that nothing may rely on its axes?"""

import numpy as np

from casework.measure.channels import Part
from casework.measure.surfaces.poses import Pose
from tests.shapes import rotation


def placed(body, seed=1, name="part.stl"):
    """The body as a part anywhere in space, and the pose of the implant under it."""
    turn, at = rotation(seed), np.array([30.0, -20.0, 10.0]) * seed
    vertices, faces = body
    pose = Pose.of(at, turn @ [0.0, 0.0, 1.0], turn @ [1.0, 0.0, 0.0])
    return Part(name, vertices @ turn.T + at, faces), pose
