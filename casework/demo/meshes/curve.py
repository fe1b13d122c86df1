"""Where along and beside a dental arch does a point lie?

x points to the patient's right, y to the front, z up; s runs along the arch from the midline
(positive on the right), t across it (positive toward lip and cheek).
"""

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.spatial import cKDTree

CENTRE_TO_FRONT_MM = 22.0  # the lower arch's front lies this far before the common origin


class ArchCurve:
    """The curve y = front - a x^2 - b x^4 measured by its length."""

    def __init__(self, front_mm, square, fourth, half_length_mm=66.0):
        x = np.linspace(-40.0, 40.0, 8001)
        y = front_mm - square * x**2 - fourth * x**4
        length = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
        length -= length[len(x) // 2]
        near = np.abs(length) < half_length_mm
        self._place = CubicSpline(length[near][::4], np.column_stack([x, y])[near][::4])
        self._slope = self._place.derivative()
        self._bend = self._slope.derivative()
        self._samples = np.arange(-half_length_mm + 1.0, half_length_mm - 1.0, 0.05)
        self._tree = None

    def tangent(self, s):
        """Unit direction of growing s, in the plane."""
        slope = self._slope(s)
        return slope / np.linalg.norm(slope, axis=-1, keepdims=True)

    def outward(self, s):
        """Unit direction toward lip and cheek, in the plane."""
        tangent = self.tangent(s)
        return np.stack([-tangent[..., 1], tangent[..., 0]], axis=-1)

    def place(self, s, t):
        """Plane coordinates of points given by length and offset."""
        return self._place(s) + np.asarray(t)[..., None] * self.outward(s)

    def stretch(self, s, t):
        """Millimetres along the arch per unit of s, at offset t."""
        bend = np.einsum("...i,...i->...", self._bend(s), self.outward(s))
        return 1.0 - np.asarray(t) * bend

    def locate(self, xy):
        """Length and offset of plane coordinates, to about a thousandth of a millimetre."""
        if self._tree is None:
            tangent, outward = self.tangent(self._samples), self.outward(self._samples)
            bend = 1.0 - self.stretch(self._samples, np.ones(len(self._samples)))
            place = self._place(self._samples)
            self._frames = np.column_stack([place, tangent, outward, bend, self._samples])
            self._tree = cKDTree(place)
        near = self._frames[self._tree.query(xy)[1]]
        away = xy - near[:, :2]
        along = away[:, 0] * near[:, 2] + away[:, 1] * near[:, 3]
        t = away[:, 0] * near[:, 4] + away[:, 1] * near[:, 5]
        return near[:, 7] + along / np.maximum(1.0 - t * near[:, 6], 0.2), t


# Chosen so that the widths and depths come out near the mean of casts: intercanine 26.9 and
# 35.4, first molars 54.2 and 57.9 at the facial points, depths 28.1 and 31.6 mm (two published
# series of casts, read as abstracts).
LOWER = ArchCurve(CENTRE_TO_FRONT_MM, 0.0300, 5.76e-5)
UPPER = ArchCurve(CENTRE_TO_FRONT_MM + 2.4, 0.0215, 5.9e-5)
