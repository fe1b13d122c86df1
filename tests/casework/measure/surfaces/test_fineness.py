"""Are long triangles cut so that the surface stays what it is, everywhere or where asked?"""

import numpy as np
import pytest
import trimesh

from casework.measure.surfaces.fineness import split_long
from tests.shapes import box, sphere


def edges_of(vertices, faces):
    ends = vertices[faces], vertices[np.roll(faces, -1, axis=1)]
    return np.linalg.norm(ends[0] - ends[1], axis=2), (ends[0] + ends[1]) / 2


@pytest.mark.parametrize("body", [box(), sphere(5.0, 16)])
def test_no_edge_is_longer_and_the_body_is_the_same(body):
    before = trimesh.Trimesh(*body, process=False)

    after = trimesh.Trimesh(*split_long(*body, 0.9), process=False)

    assert edges_of(after.vertices, after.faces)[0].max() <= 0.9
    assert after.is_watertight and after.is_winding_consistent
    assert after.volume == pytest.approx(before.volume, rel=1e-12)
    assert after.area == pytest.approx(before.area, rel=1e-12)


def test_only_edges_that_are_meant_are_cut_and_nothing_opens():
    def is_right(middles):
        return middles[:, 0] > 5.0

    vertices, faces = split_long(*box(), 0.9, is_meant=is_right)

    lengths, middles = edges_of(vertices, faces)
    rows, longest = np.arange(len(faces)), lengths.argmax(axis=1)
    is_meant = middles[rows, longest, 0] > 5.0
    assert lengths[is_meant].max() <= 0.9 < lengths[~is_meant].max()
    assert trimesh.Trimesh(vertices, faces, process=False).is_watertight


def test_too_many_are_refused_in_a_sentence():
    with pytest.raises(ValueError, match="more than 1,000 triangles"):
        split_long(*box(), 0.05, most=1000)
