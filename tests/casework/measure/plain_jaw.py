"""Which jaw of plain bodies has directions, contacts and heights that its numbers give?"""

import numpy as np

from casework.measure.surfaces.poses import Pose, Rigid
from tests.shapes import joined, rotation, sphere

# Half axes of the ellipsoids along the arch, across it and upward, by place from the midline.
HALF_MM = {1: (4.2, 3.4, 5.0), 2: (3.4, 3.2, 4.8), 3: (3.9, 3.8, 5.2), 4: (3.5, 4.4, 4.3),
           5: (3.5, 4.5, 4.2), 6: (5.2, 5.2, 4.0), 7: (5.0, 5.1, 3.9)}  # fmt: skip
RADIUS_MM = 24.0  # of the half circle of the front; behind it the arch runs straight


class PlainJaw:
    """Ellipsoids along an arch over a ridge; x to the patient's right, y front, z occlusal.

    An upper jaw is seen from below: x runs to the patient's left. Everything may be moved.
    """

    def __init__(self, jaw="lower", missing=(), only=None, seed=0, sides=28):
        self.quadrants = ("4", "3") if jaw == "lower" else ("2", "1")
        turn = rotation(seed) if seed else np.eye(3)
        self.rigid = Rigid(turn, np.array([11.0, -7.0, 5.0]) * seed)
        self.places = self._places()
        self.standing = [
            site
            for site in self.places
            if site not in missing and (only is None or site in only)
        ]
        bodies = [self.tooth(site, sides) for site in self.standing]
        kept = [site for site in self.places if only is None or site in only]
        self.vertices, self.faces = joined(*bodies, *(self._gum(site) for site in kept))
        self.vertices = self.rigid.apply(self.vertices)
        self.faces = self.faces.astype(np.int32)

    def _places(self):
        """Site to the length along the arch of its middle, positive toward +x."""
        found = {}
        for quadrant, side in zip(self.quadrants, (1, -1), strict=True):
            reached = 0.0
            for place, (half, _, _) in HALF_MM.items():
                found[f"{quadrant}{place}"] = side * (reached + half)
                reached += 2 * half
        return found

    def frame(self, length):
        """Middle (3,), outward (3,) and along (3,), in the jaw's own coordinates."""
        quarter = RADIUS_MM * np.pi / 2
        turn = np.clip(length, -quarter, quarter) / RADIUS_MM
        outward = np.array([np.sin(turn), np.cos(turn), 0.0])
        along = np.array([np.cos(turn), -np.sin(turn), 0.0])
        rest = abs(length) - quarter
        middle = RADIUS_MM * outward + (max(rest, 0.0) * np.array([0.0, -1.0, 0.0]))
        return middle, outward, along

    def tooth(self, site, sides):
        vertices, faces = sphere(1.0, sides)
        middle, outward, along = self.frame(self.places[site])
        half = np.array(HALF_MM[int(site[1])])
        top = half[2]
        local = vertices * half
        turn = np.stack([along, outward, [0.0, 0.0, 1.0]], axis=1)
        return local @ turn.T + middle - [0, 0, top], faces

    def _gum(self, site):
        vertices, faces = sphere(1.0, 16)
        middle, outward, along = self.frame(self.places[site])
        turn = np.stack([along, outward, [0.0, 0.0, 1.0]], axis=1)
        return vertices * [5.0, 4.0, 3.0] @ turn.T + middle - [0, 0, 11.0], faces

    def pose(self, site, lean_out_deg=0.0, lean_along_deg=0.0, depth_mm=11.0):
        """A platform under the middle of a tooth, its axis leaning outward and along."""
        middle, outward, along = self.frame(self.places[site])
        axis = np.array([0.0, 0.0, 1.0])
        axis = axis + np.tan(np.radians(lean_out_deg)) * outward
        axis = axis + np.tan(np.radians(lean_along_deg)) * along
        return Pose.of(middle - [0, 0, depth_mm], axis, along).moved(self.rigid)

    def directions(self, site):
        """Occlusal, outward and distal (3,) at a site, in the world."""
        _, outward, along = self.frame(self.places[site])
        distal = along if self.places[site] > 0 else -along
        return self.rigid.turn(np.array([[0, 0, 1.0], outward, distal]))
