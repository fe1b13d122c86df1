"""At which heights and turns may a form stand on a supposed axis?

Around the form a grid of nodes holds the distance from it and the direction away from it; a
point of the scan reads the node nearest to it. So thousands of poses are tried in a moment, to
a tenth of a millimetre, which is near enough to begin a fit.
"""

from dataclasses import dataclass

import numpy as np

from casework.measure.jit import jit
from casework.measure.scan_bodies.forms import Form
from casework.measure.surfaces.poses import Pose
from casework.measure.surfaces.thinning import evenly

NODE_MM = 0.2
BESIDE_MM = 0.8  # the grid reaches so far beyond the form
NEAR_MM = 0.4  # of a place of the form: the distance is that from its plane
FROM_MM = 0.5  # above the platform; below it the form's own foot is not reliable
ON_MM = 0.25  # a point nearer than this may lie on the form
IN_MM = 0.4  # a point deeper than this speaks against it: nothing is seen inside a body
AGREE_COSINE = 0.75
POINTS = 700
HEIGHT_STEP_MM, TURN_STEPS = 0.25, 24
KEPT = 8  # poses returned for each end of the axis
OTHER_HEIGHT_MM, OTHER_TURN = 0.6, 2  # a pose that differs less is the same


@dataclass(frozen=True, eq=False)
class Nodes:
    """The grid around a form: distance, then direction (nx, ny, nz, 4); its least corner."""

    held: np.ndarray
    low: np.ndarray

    @classmethod
    def of(cls, form: Form) -> "Nodes":
        side = form.reach_mm + BESIDE_MM
        low = np.array([-side, -side, FROM_MM])
        high = np.array([side, side, form.height_mm + BESIDE_MM])
        axes = [np.arange(a, b + NODE_MM, NODE_MM) for a, b in zip(low, high, strict=True)]
        nodes = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)
        distance, place = form.sample_tree.query(nodes.reshape(-1, 3))
        places, face = form.samples
        away = nodes.reshape(-1, 3) - places[place]
        normal = form.normals[face[place]]
        plane = np.einsum("ij,ij->i", away, normal)
        sign = np.where(plane < 0, -1.0, 1.0)
        is_near = distance < NEAR_MM
        value = np.where(is_near, plane, sign * distance)
        beyond = sign[:, None] * away / np.maximum(distance, 1e-9)[:, None]
        way = np.where(is_near[:, None], normal, beyond)
        held = np.concatenate([value[:, None], way], axis=1).astype(np.float32)
        return cls(held.reshape(*nodes.shape[:3], 4), low)


def starts(points, normals, areas, point_mm, axis, form: Form, nodes: Nodes):
    """Return the best poses of a form along an axis, and the area in mm2 that lies on each.

    `points` (k, 3), `normals` and `areas` are those around the axis; both of its ends may be
    the top. Poses come best first.
    """
    few = evenly(len(points), POINTS)
    areas = areas[few] * (len(points) / max(len(few), 1))
    points, normals = points[few], normals[few]
    steps = TURN_STEPS if form.turns else 1
    turns = np.arange(steps) * (2 * np.pi / steps)
    if form.turns > 1:
        turns = turns[turns < 2 * np.pi / form.turns - 1e-6]
    found = []
    for up in (axis, -axis):
        first = Pose.of(point_mm, up)
        local = first.to_local(points)
        turned = normals @ first.rigid.rotation
        # The wall's middle lies somewhere between the platform and the top.
        heights = np.arange(0.0, form.height_mm + HEIGHT_STEP_MM, HEIGHT_STEP_MM)
        scores = _scores(local, turned, areas, heights, turns, nodes.held, nodes.low)
        for height, turn, score in _best(scores):
            toward = np.cos(turns[turn]) * first.toward + np.sin(turns[turn]) * np.cross(
                up, first.toward
            )
            pose = Pose(point_mm - heights[height] * up, up, toward)
            found.append((score, pose))
    found.sort(key=lambda one: -one[0])
    return found


def _best(scores):
    scores = scores.copy()
    count = scores.shape[1]
    apart = int(OTHER_HEIGHT_MM / HEIGHT_STEP_MM)
    for _turn in range(KEPT):
        height, turn = np.unravel_index(np.argmax(scores), scores.shape)
        if scores[height, turn] <= 0:
            return
        yield height, turn, float(scores[height, turn])
        near = (np.arange(count) - turn + count // 2) % count - count // 2
        rows = slice(max(0, height - apart), height + apart + 1)
        scores[rows, np.abs(near) <= OTHER_TURN] = 0.0


@jit
def _scores(local, normals, areas, heights, turns, held, low):
    """Area on the form less area inside of it, for each height and turn."""
    scores = np.zeros((len(heights), len(turns)))
    for t in range(len(turns)):
        c, s = np.cos(turns[t]), np.sin(turns[t])
        for k in range(len(local)):
            x = c * local[k, 0] + s * local[k, 1]
            y = -s * local[k, 0] + c * local[k, 1]
            i = np.int64(np.floor((x - low[0]) / NODE_MM + 0.5))
            j = np.int64(np.floor((y - low[1]) / NODE_MM + 0.5))
            if i < 0 or j < 0 or i >= held.shape[0] or j >= held.shape[1]:
                continue
            u = c * normals[k, 0] + s * normals[k, 1]
            v = -s * normals[k, 0] + c * normals[k, 1]
            x -= low[0] + i * NODE_MM
            y -= low[1] + j * NODE_MM
            for h in range(len(heights)):
                z = local[k, 2] + heights[h]
                m = np.int64(np.floor((z - low[2]) / NODE_MM + 0.5))
                if m < 0 or m >= held.shape[2]:
                    continue
                z -= low[2] + m * NODE_MM
                node = held[i, j, m]
                off = node[0] + node[1] * x + node[2] * y + node[3] * z
                if off < -IN_MM:
                    scores[h, t] -= areas[k]
                elif abs(off) < ON_MM:
                    if node[1] * u + node[2] * v + node[3] * normals[k, 2] > AGREE_COSINE:
                        scores[h, t] += areas[k]
    return scores
