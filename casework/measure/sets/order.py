"""In which order, from the patient's right to left, do things stand along an arch?"""

import numpy as np

RIGHT_TO_LEFT = {
    "upper": [f"1{k}" for k in range(8, 0, -1)] + [f"2{k}" for k in range(1, 9)],
    "lower": [f"4{k}" for k in range(8, 0, -1)] + [f"3{k}" for k in range(1, 9)],
}
FLAT_MM = 80.0  # an arch bends more than a circle of this radius
STRAIGHT_MM = 0.5  # standard deviation across a line that has no width and no bend
MOST_POINTS = 4000


def jaw_of(site: str) -> str:
    return "upper" if site[0] in "12" else "lower"


def from_right_to_left(
    places: np.ndarray, occlusal: np.ndarray, jaw: str, arch: np.ndarray
) -> np.ndarray | None:
    """Return the order of places (k, 3) along an arch, None where its bend does not show it.

    `occlusal` (3,) points from the gums to the opposing jaw, `arch` (n, 3) are points of the
    scan. The arch bends around the tongue: about the centre of the circle through it, the
    patient's right to left is counter-clockwise in the lower jaw as seen by the opposing teeth,
    and clockwise in the upper one (a patient who looks ahead has the right hand on the side of
    ahead cross up).
    """
    occlusal = occlusal / np.linalg.norm(occlusal)
    u = np.cross(occlusal, np.eye(3)[np.argmin(np.abs(occlusal))])
    u /= np.linalg.norm(u)
    plane = np.stack([u, np.cross(occlusal, u)], axis=1)
    some = arch[:: max(1, len(arch) // MOST_POINTS)] @ plane
    middle = some.mean(axis=0)
    flat = some - middle
    if np.linalg.svd(flat, compute_uv=False)[1] < STRAIGHT_MM * np.sqrt(len(flat)):
        return None
    columns = np.column_stack([2 * flat, np.ones(len(flat))])
    found = np.linalg.lstsq(columns, (flat**2).sum(axis=1), rcond=None)[0]
    centre, radius = found[:2], np.sqrt(max(found[2] + found[:2] @ found[:2], 0.0))
    if not radius < FLAT_MM:
        return None
    away = flat - centre
    forward = np.arctan2(*(away / np.linalg.norm(away, axis=1)[:, None]).mean(axis=0)[::-1])
    around = places @ plane - middle - centre
    turn = np.arctan2(around[:, 1], around[:, 0]) - forward
    turn = (turn + np.pi) % (2 * np.pi) - np.pi
    return np.argsort(turn if jaw == "lower" else -turn, kind="stable")
