"""Is the span of a set of points its largest distance?"""

import math

import numpy as np
import pytest

from casework.measure.distances import span_mm
from tests import shapes


def test_a_span_is_the_largest_distance():
    rng = np.random.default_rng(2)
    for _ in range(20):
        points = rng.normal(size=(rng.integers(2, 60), 3)) * rng.uniform(0.1, 10, 3)
        slow = max(math.dist(a, b) for a in points for b in points)
        assert span_mm(points) == pytest.approx(slow, rel=1e-12)
    assert span_mm(points[:1]) == 0


def test_the_span_of_very_many_points_is_at_most_a_thousandth_short():
    turns = np.linspace(0, 2 * np.pi, 3001)[:-1]
    ring = np.stack([np.cos(turns), np.sin(turns), 0 * turns], -1) @ shapes.rotation(3).T
    assert 2 * 0.999 < span_mm(ring, most=1000) <= 2 + 1e-12
