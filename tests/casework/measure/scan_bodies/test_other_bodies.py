"""Is a form taken for no body that only shares some of its sides?

The bodies are prisms and cylinders of general-purpose solids, standing in level gum.
"""

from dataclasses import replace

import numpy as np
import pytest
import trimesh

from casework.measure.scan_bodies.finding import find_scan_bodies
from casework.measure.scan_bodies.forms import form_from_text, form_of_mesh
from casework.measure.scan_bodies.judging import is_form
from tests.casework.measure.scan_bodies.bodies import body, laid_on

GUM_MM, EDGE_MM = 2.0, 0.25


def prism(half=1.9, bevel=1.0, height=9.0):
    """A square prism on its platform, bevelled toward x."""
    corners = [(x, y, 0) for x in (-half, half) for y in (-half, half)]
    corners += [(-half, y, height) for y in (-half, half)]
    corners += [(half - bevel, y, height) for y in (-half, half)]
    corners += [(half, y, height - bevel) for y in (-half, half)]
    return trimesh.convex.convex_hull(np.array(corners))


def found_on(solid, form):
    """What is found of a form on a solid that stands in gum."""
    vertices, faces = trimesh.remesh.subdivide_to_size(solid.vertices, solid.faces, EDGE_MM)
    faces = faces[vertices[faces][:, :, 2].min(axis=1) > GUM_MM]
    steps = np.arange(-6, 6.01, EDGE_MM)
    x, y = (one.ravel() for one in np.meshgrid(steps, steps, indexing="ij"))
    count = len(steps)
    a = np.arange(count * count).reshape(count, count)
    quads = [a[:-1, :-1], a[1:, :-1], a[1:, 1:], a[:-1, 1:]]
    a, b, c, d = (one.ravel() for one in quads)
    gum = np.concatenate([np.column_stack([a, b, c]), np.column_stack([a, c, d])])
    level = np.column_stack([x, y, np.full(len(x), GUM_MM)])
    gum = gum[np.hypot(*level[gum].mean(axis=1)[:, :2].T) > solid.extents[:2].max() * 0.75]
    scan = np.concatenate([vertices, level]), np.concatenate([faces, gum + len(vertices)])
    return find_scan_bodies(*scan, {"form": form})


def form_like(solid):
    return form_of_mesh(np.asarray(solid.vertices), np.asarray(solid.faces))


def test_a_square_body_is_found_once_and_not_across_itself():
    (one,) = found_on(prism(), form_like(prism())).found

    assert one.problem == "" and not one.rotation_because
    assert np.linalg.norm(one.pose.origin_mm) < 0.002
    assert one.pose.axis @ [0, 0, 1] > 1 - 1e-6 and one.pose.toward @ [1, 0, 0] > 1 - 1e-6


def test_a_wider_square_body_is_not_taken_by_one_of_its_corners():
    assert found_on(prism(half=2.05), form_like(prism())).found == ()


@pytest.mark.parametrize(
    ("stands", "named", "says"),
    [(0.01, 1.2, "outside the form"), (1.2, 0.01, "inside the form")],
)
def test_a_bevel_too_few_or_too_many_is_said(stands, named, says):
    for one in found_on(prism(bevel=stands), form_like(prism(bevel=named))).found:
        assert says in one.problem


def test_a_form_is_not_stood_on_its_head_to_fit_a_body_without_its_bevel():
    solid = trimesh.creation.cylinder(2.05, 8, sections=96)
    solid.apply_translation([0, 0, 4])
    form = form_from_text("diameter=4.1,height=8,slope=35,slope_depth=2.2")

    bodies = found_on(solid, form)

    assert len(bodies.found) + len(bodies.doubtful) == 1
    for one in bodies.found:
        assert one.pose.axis @ [0, 0, 1] > 0.999 and "above the platform" in one.problem


def test_a_wall_that_does_not_turn_in_the_scan_is_no_round_one():
    laid = laid_on(*body())
    is_wall = np.abs(laid.seen.normals[:, 2:]) < 0.35
    level = replace(laid.seen, normals=np.where(is_wall, [0.0, -1.0, 0.0], laid.seen.normals))
    laid_on_level = replace(laid)
    vars(laid_on_level)["seen"] = level  # as if the scan showed it so

    assert is_form(laid) and not is_form(laid_on_level)
