"""Do the fast loops count what dictionaries and loops count, and what trimesh counts?"""

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from casework.measure.integrity import inspect
from casework.measure.meshes import merged
from casework.measure.reading import read_mesh
from tests import shapes
from tests.casework.measure import inputs, twin


def _damaged(seed, size):
    """A small mesh with every kind of damage: missing, doubled, turned, flat, fins, joined."""
    rng = np.random.default_rng(seed)
    vertices, faces = shapes.joined(
        shapes.torus(around=6, across=5), shapes.sheet(5), shapes.tetrahedron(at=(50, 0, 0))
    )
    faces = faces[rng.random(len(faces)) > rng.choice([0.0, 0.1, 0.5])]
    extra = [faces[rng.integers(0, len(faces), size)][:, rng.permutation(3)]]
    extra.append(rng.integers(0, len(vertices), (size, 3)))
    doubled = rng.integers(0, len(vertices), (size, 3))
    doubled[:, 1] = doubled[:, 0]
    extra.append(doubled)
    faces = np.vstack([faces, *extra])
    faces = faces[rng.permutation(len(faces))]
    turn = rng.random(len(faces)) < 0.1
    faces[turn] = faces[turn][:, ::-1]
    return vertices + rng.normal(0, 0.01, vertices.shape), faces


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10**9), size=st.integers(0, 6))
def test_the_report_agrees_with_the_slow_twin_on_damaged_meshes(seed, size):
    vertices, faces = _damaged(seed, size)
    mesh = read_mesh(inputs.ply_binary(vertices, faces, coordinate="double"), "body.ply")
    found = inspect(mesh, listed=1000)
    slow = twin.report(mesh.vertices.tolist(), mesh.faces.tolist())

    assert found.degenerate_triangles == slow["degenerate"]
    assert found.duplicate_triangles == slow["duplicate"]
    assert found.triangles == slow["triangles"]
    assert found.border_edges == slow["border"]
    assert found.non_manifold_edges == slow["non_manifold"]
    assert found.is_consistently_wound == (slow["crossed"] == 0)
    assert found.is_closed == slow["closed"]
    assert sorted(one.triangle_count for one in found.islands) == slow["islands"]
    holes = sorted(
        ((one.length_mm, one.edge_count, one.span_mm) for one in found.holes), reverse=True
    )
    assert [h[1] for h in holes] == [h[1] for h in slow["holes"]]
    np.testing.assert_allclose(np.array(holes), np.array(slow["holes"]), atol=2e-6)
    assert found.edge_length_mm == pytest.approx(
        (*np.quantile(slow["lengths"], (0.5, 0.95)), slow["lengths"][-1])
    )


@settings(max_examples=100, deadline=None)
@given(
    st.lists(
        st.tuples(
            *[
                st.sampled_from(
                    [
                        0.0,
                        -0.0,
                        1.0,
                        1 + 2**-24,
                        1 + 2**-23,
                        -1.0,
                        0.1,
                        1e-46,
                        60.000001,
                        60.000004,
                    ]
                )
            ]
            * 3
        ),
        min_size=3,
        max_size=60,
    )
)
def test_vertices_are_merged_as_the_slow_twin_merges_them(points):
    numbers, first = merged(np.array(points))

    slow_numbers, slow_first = twin.merge(points)
    assert numbers.tolist() == slow_numbers and first.tolist() == slow_first


def test_merging_keeps_up_when_no_vertex_is_shared():
    points = np.random.default_rng(1).normal(size=(30000, 3))
    numbers, first = merged(np.vstack([points, points]))
    assert (numbers == np.tile(np.arange(30000), 2)).all() and len(first) == 30000


@pytest.mark.parametrize(
    "make",
    [
        shapes.box,
        shapes.sphere,
        shapes.tube,
        shapes.torus,
        lambda: shapes.sheet(30),
        lambda: shapes.joined(shapes.box(), shapes.box(at=(20, 0, 0))),
    ],
)
def test_clean_files_give_what_trimesh_gives(make, tmp_path):
    path = tmp_path / "body.stl"
    path.write_bytes(inputs.stl_binary(*make()))
    library = trimesh.load(path)

    found = inspect(read_mesh(path))

    assert found.is_closed == library.is_watertight
    assert found.island_count == library.body_count
    assert np.array(found.bounds_mm).tolist() == library.bounds.tolist()
    assert found.vertices == len(library.vertices) and found.triangles == len(library.faces)
    assert found.area_mm2 == pytest.approx(library.area, rel=1e-9)
    assert found.is_consistently_wound == library.is_winding_consistent
    if library.is_watertight:
        assert found.volume_mm3 == pytest.approx(library.volume, rel=1e-9)
