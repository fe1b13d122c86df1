"""Does the line of a bridge follow its arch, and is it narrow where its joints are?"""

import numpy as np
import pytest

from casework.measure.bridge_lines import bridge_line
from casework.measure.surfaces.sections import Sections
from tests.shapes import box, bridge_of_ellipsoids, joined, rotation


def line_of(body, occlusal=None):
    return bridge_line(*body, Sections(*body), occlusal)


def arc(radius, turns_deg, bar=1.4):
    turns = np.radians(turns_deg)
    centres = radius * np.stack([np.sin(turns), np.cos(turns), 0 * turns], axis=1)
    frames = [
        np.array([[np.cos(t), np.sin(t), 0], [-np.sin(t), np.cos(t), 0], [0, 0, 1]])
        for t in turns
    ]
    half = 0.53 * np.linalg.norm(centres[1] - centres[0])
    bars = [bar] * (len(turns) - 1)
    return bridge_of_ellipsoids(centres, (half, 3.4, 4.5), bars, turns=frames), centres


@pytest.mark.parametrize("seed", range(3))
def test_a_straight_bridge_has_a_straight_line(seed):
    centres = np.array([[0.0, 0, 0], [8, 0, 0], [16, 0, 0], [24, 0, 0]])
    vertices, faces = bridge_of_ellipsoids(centres, (3.8, 5, 4), (1.9, 1.9, 1.9))
    turn = rotation(seed)

    line = line_of((vertices @ turn.T + 100, faces))

    assert line.bend_mm < 0.2
    assert line.length_mm == pytest.approx(31.6, abs=1.5)
    at, clear = line.narrowings()
    assert len(at) == 3
    assert (clear > 0.5).all()


@pytest.mark.parametrize(("radius", "turns_deg"), [
    (20, [-50, -30, -10, 10, 30, 50]),  # canine to canine
    (24, np.linspace(-80, 80, 12)),  # a whole arch
    (18, [-15, 15]),
])  # fmt: skip
def test_the_line_of_an_arch_passes_its_units(radius, turns_deg):
    body, centres = arc(radius, turns_deg)

    line = line_of(body)

    # A polynomial does not follow a circle to its ends; what counts are the joints.
    assert max(line.distance_mm(centre) for centre in centres) < 2.5
    at, _ = line.narrowings()
    assert len(at) == len(centres) - 1
    middles = (centres[1:] + centres[:-1]) / 2
    assert max(np.linalg.norm(line.points[at] - m, axis=1).min() for m in middles) < 1.6


def test_a_bridge_higher_than_long_needs_the_occlusal_direction():
    body = joined(box(4.4, 6, 14), box(2, 2, 2, at=(4, 2, 5)), box(4.4, 6, 14, at=(5.4, 0, 0)))

    line = line_of(body, np.array([0, 0, 1.0]))

    across = line.points[-1] - line.points[0]
    assert abs(across[0]) / np.linalg.norm(across) > 0.99
    at, _ = line.narrowings()
    assert line.points[at[0]][0] == pytest.approx(4.9, abs=0.3)


def test_a_cavity_is_no_narrow_place():
    outer, inner = box(10, 8, 8), box(9, 7, 7.5, at=(0.5, 0.5, -0.01))
    hollow = joined(outer, (inner[0], inner[1][:, ::-1]))
    body = joined(hollow, box(4, 2, 2, at=(9.6, 3, 3)), box(10, 8, 8, at=(13, 0, 0)))

    at, _ = line_of(body).narrowings()

    assert len(at) == 1


def test_a_long_bar_is_narrow_in_its_middle():
    body = joined(box(8, 8, 8), box(8, 2, 2, at=(7, 3, 3)), box(8, 8, 8, at=(14, 0, 0)))

    line = line_of(body)

    at, _ = line.narrowings()
    assert line.points[at[0]][0] == pytest.approx(11, abs=0.4)


def test_next_to_nothing_has_no_line():
    assert line_of((np.empty((0, 3)), np.empty((0, 3), int))) is None
