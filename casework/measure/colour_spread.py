"""Does a scan hold colours, and do they tell anything apart?"""

import numpy as np

from casework.measure.meshes import Mesh
from casework.measure.results import Measured, Quantity

COLOUR = Quantity(
    "scan_colour_spread", "spread of the colours", "",
    "root mean square distance of the colours from their mean, in steps of 8 bit",
)  # fmt: skip
QUANTITIES = (COLOUR,)


def colour_of(mesh: Mesh, *, subject: str) -> Measured:
    """Return how far the colours of a scan spread; 0 where all are one."""
    colours = mesh.colours if mesh.colours is not None else mesh.face_colours
    if colours is None or not len(colours):
        return COLOUR.not_known(subject, "The file holds no colours.")
    values = np.asarray(colours, float)
    mean = values.mean(axis=0)
    spread = float(np.sqrt(((values - mean) ** 2).sum(axis=1).mean()))
    return COLOUR.of(
        subject, spread, mean_red_green_blue=mean,
        is_of_vertices=mesh.colours is not None, is_one_colour=spread == 0.0,
    )  # fmt: skip
