"""Files of previews: read back by trimesh, a second general library, and byte by byte."""

import io
import json
import struct

import numpy as np
import pytest
import trimesh

from casework.previews.glb import glb_of, vertices_of


@pytest.fixture
def ball():
    mesh = trimesh.creation.icosphere(3, radius=7.5)
    mesh.apply_translation([31.0, -4.0, 12.5])
    return mesh


def test_a_second_library_reads_the_same_surface(ball):
    data = glb_of(ball.vertices, ball.faces)

    read = trimesh.load(io.BytesIO(data), file_type="glb", process=False)
    one = next(iter(read.geometry.values()))

    assert np.array_equal(one.faces, ball.faces)
    # trimesh leaves 16-bit places as they are stored: the node's scale is of shares of 65535.
    matrix = read.graph[next(iter(read.graph.nodes_geometry))][0]
    places = one.vertices / (65535 if one.vertices.max() > 2 else 1)
    places = places @ matrix[:3, :3].T + matrix[:3, 3]
    assert np.abs(places - ball.vertices).max() < 15.0 / 65535


def test_places_read_back_within_half_a_step(ball):
    data = glb_of(ball.vertices, ball.faces)

    side_mm = np.ptp(ball.vertices, axis=0).max()
    assert np.abs(vertices_of(data) - ball.vertices).max() <= side_mm / 131070 * 1.000001


def test_the_container_is_as_the_standard_says(ball):
    """glTF 2.0 (ISO/IEC 12113:2022), sections 4.4.2 and 4.4.3 of the specification."""
    data = glb_of(ball.vertices, ball.faces, np.full((len(ball.vertices), 3), 200, np.uint8))

    magic, version, length = struct.unpack_from("<4sII", data)
    first, kind = struct.unpack_from("<II", data, 12)
    second, other = struct.unpack_from("<I4s", data, 20 + first)
    told = json.loads(data[20 : 20 + first])
    assert (magic, version, length) == (b"glTF", 2, len(data))
    assert kind == 0x4E4F534A and other == b"BIN\0"
    assert first % 4 == 0 and second % 4 == 0 and 28 + first + second == length
    for view in told["bufferViews"]:
        assert view["byteOffset"] % 4 == 0
        assert view["byteOffset"] + view["byteLength"] <= second
    assert told["asset"] == {"version": "2.0"}


@pytest.mark.parametrize(
    ("srgb", "linear"),
    [(0, 0), (255, 255), (188, 128), (10, 1)],
)
def test_colours_are_linear_light(ball, srgb, linear):
    """IEC 61966-2-1: half of the light is written as 188 of 255."""
    colours = np.full((len(ball.vertices), 3), srgb, np.uint8)

    data = glb_of(ball.vertices, ball.faces, colours)

    stored = data[-4 * len(ball.vertices) :]
    assert set(stored[0::4]) == {linear} and set(stored[3::4]) == {255}


def test_more_corners_than_16_bit_count():
    rng = np.random.default_rng(5)
    vertices = rng.normal(size=(70_000, 3))
    faces = rng.integers(0, 70_000, (1000, 3))

    data = glb_of(vertices, faces)

    one = next(iter(trimesh.load(io.BytesIO(data), file_type="glb").geometry.values()))
    assert len(one.faces) == 1000 and len(vertices_of(data)) == 70_000
