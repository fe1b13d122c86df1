"""How is an implicit shape sampled and meshed on a grid that follows a dental arch?"""

import numpy as np

from casework.demo.meshes.fields import settle
from casework.demo.meshes.surface import surface_nets

CHUNK = 150_000  # grid points worked off at once


class BentGrid:
    """A bent grid that follows the arch: along, across, up; its floor undulates."""

    def __init__(self, curve, along, across, up, floor):
        self.curve, self.along, self.across, self.up, self.floor = (
            curve, along, across, up, floor,
        )  # fmt: skip

    def points(self, s, t, height):
        """Common coordinates of grid coordinates (height above the undulating floor)."""
        z = height + self.floor(s, t)
        return np.column_stack([self.curve.place(s, t), z])

    def sample(self, shape):
        """The values of a shape's field at all grid points, worked off in slices."""
        plane = len(self.across) * len(self.up)
        values = np.empty((len(self.along), len(self.across), len(self.up)), dtype=np.float32)
        rows = max(1, CHUNK // plane)
        for start in range(0, len(self.along), rows):
            s, t, up = (
                one.ravel()
                for one in np.meshgrid(
                    self.along[start : start + rows], self.across, self.up, indexing="ij"
                )
            )
            value = shape(self.points(s, t, up), s, t)
            values[start : start + rows] = value.reshape(-1, len(self.across), len(self.up))
        return values

    def surface(self, shape, step_mm):
        """Grid coordinates of the vertices on the zero surface, and quadrilaterals."""
        places, quads = surface_nets(self.sample(shape))
        at = np.column_stack([
            np.interp(places[:, axis], np.arange(len(line)), line)
            for axis, line in enumerate((self.along, self.across, self.up))
        ])  # fmt: skip
        lengths = np.ones_like(at)
        lengths[:, 0] = self.curve.stretch(at[:, 0], at[:, 1])

        def bent(q):
            return shape(self.points(*q.T), q[:, 0], q[:, 1])

        return settle(at, bent, 0.35 * step_mm, lengths), quads
