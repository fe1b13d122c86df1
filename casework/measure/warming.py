"""How is the first scan of a process read as fast as the next?"""

import numpy as np

from casework.measure.integrity import inspect
from casework.measure.reading import read_mesh
from casework.measure.rewriting import without_names
from casework.measure.ridge import ridge_of
from casework.measure.scan_bodies.finding import find_scan_bodies
from casework.measure.scan_bodies.forms import form_from_text
from casework.measure.surfaces.clouds import Cloud
from casework.measure.surfaces.cylinder import (
    cut_between,
    free_radius,
    highest_within,
    radial_faces,
)
from casework.measure.surfaces.differing import regions, seen_from
from casework.measure.surfaces.drawing import Camera, Part, Section, draw
from casework.measure.surfaces.fields import without_noise
from casework.measure.surfaces.gaps import Meeting, scan_surface, smoothed_with_noise
from casework.measure.surfaces.half_planes import sections_around
from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.placing import place
from casework.measure.surfaces.poses import Rigid
from casework.measure.surfaces.rays import FRONT, first_hits
from casework.measure.surfaces.sampled import Sampled
from casework.measure.surfaces.searching import Search
from casework.measure.surfaces.sections import Sections
from casework.measure.surfaces.turned import Turned, clearance

CORNERS = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]], np.float32)
FACES = ((0, 2, 1), (0, 1, 3), (0, 3, 2), (1, 2, 3))


def warm_up() -> None:
    """Compile or load every inner loop, by reading small surfaces in each format.

    Takes seconds where nothing is kept from before, otherwise a fraction of one.
    """
    for data in small_files():
        inspect(read_mesh(data, "warm-up"))
        without_names(data, "warm-up")
    camera = Camera(np.zeros(3), np.array([0, 0, -1.0]), np.array([0, 1.0, 0]), 4.0)
    section = Section(np.zeros(3), np.array([0, 0, 1.0]))
    parts = [Part(CORNERS, FACES, is_solid=True), Part(CORNERS, FACES, opacity=0.5)]
    draw(parts, camera, (8, 8), section)
    nearest = Nearest(CORNERS, FACES, 1.0)
    first_hits(nearest, CORNERS, CORNERS, FRONT, 1.0)
    ridge_of(sections_around(CORNERS, FACES, 8), 0.0, 1.0)
    free_radius(*cut_between(CORNERS, FACES, 0.2), [(0.0, 1.0)])
    highest_within(CORNERS, FACES, 0.5)
    radial_faces(CORNERS, FACES)
    clearance(CORNERS, FACES, Turned.of((0.0, 1.0, 0.2)))
    _compare_small_bodies()
    _cut_and_meet()
    _find_a_small_body()


def _compare_small_bodies():
    body = Sampled(CORNERS, FACES)
    place(body, body)
    few = Cloud.of(body.vertices, body.faces, body.areas_mm2, 40)
    Search(few, few.size_mm).candidates(few)
    without_noise(np.arange(4.0) ** 2, body, 1.0)
    regions(*(seen_from(body, body, Rigid.none(), CORNERS, sign) for sign in (-1.0, 1.0)))


def _cut_and_meet():
    cuts = Sections(np.vstack([CORNERS, CORNERS + 0.1]), (*FACES, *(np.array(FACES) + 4)))
    section = cuts.within((0.2, 0.2, 0.2), (0, 0, 1), 0.1, 10.0).cut((0.2, 0.2, 0.3), (0, 0, 1))
    section.near(section.centroid_mm, section.facet_error_mm2).around(section.centroid_mm)
    surface = scan_surface(CORNERS, FACES)
    Meeting(surface, surface.near(surface, 0.5), 0.5).least()
    smoothed_with_noise(surface.raw, surface.faces, 1)


def _find_a_small_body():
    form = form_from_text("diameter=4,height=5,flat_depth=1,flat_from=2")
    find_scan_bodies(form.vertices, form.faces, {"body": form})


def small_files() -> tuple[bytes, ...]:
    """Return a tetrahedron in each format, and one that is turned, doubled and flattened."""
    broken = (*FACES[:3], (1, 3, 2), (1, 3, 2), (0, 0, 1))
    text = (
        "solid a\n"
        + "".join(
            "facet normal 0 0 0\nouter loop\n"
            + "".join("vertex {} {} {}\n".format(*CORNERS[k]) for k in face)
            + "endloop\nendfacet\n"
            for face in FACES
        )
        + "endsolid a\n"
    )
    points = "".join("{} {} {}\n".format(*point) for point in CORNERS)
    head = (
        "element vertex 4\nproperty float x\nproperty float y\nproperty float z\n"
        "element face 4\nproperty list uchar int vertex_indices\nend_header\n"
    )
    ply = f"ply\nformat ascii 1.0\n{head}{points}" + "".join(
        "3 {} {} {}\n".format(*face) for face in FACES
    )
    quads = "".join(f"v {line}\n" for line in points.splitlines()) + "v 1 1 0\nf 1 2 5 3\n"
    return (
        _stl(FACES),
        _stl(broken),
        text.encode(),
        ply.encode(),
        quads.encode(),
        _uneven_ply(),
    )


def _stl(faces):
    layout = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
    records = np.zeros(len(faces), layout)
    records["corners"] = CORNERS[np.array(faces)]
    return bytes(80) + np.uint32(len(faces)).tobytes() + records.tobytes()


def _uneven_ply():
    head = (
        "ply\nformat binary_little_endian 1.0\nelement vertex 4\nproperty float x\n"
        "property float y\nproperty float z\nelement face 2\n"
        "property list uchar uchar vertex_indices\nproperty list uchar uchar tag\n"
        "end_header\n"
    )
    return (
        head.encode()
        + CORNERS.astype("<f4").tobytes()
        + bytes((3, 0, 1, 2, 0, 4, 0, 1, 2, 3, 1, 65))
    )
