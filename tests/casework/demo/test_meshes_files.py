"""Do the demo's files open elsewhere, and does the whole set come out at once and alike?"""

import hashlib
from datetime import date, datetime

import numpy as np
import pydicom
import pytest
import trimesh
from PIL import Image

from casework.demo.meshes import (
    lower_arch,
    radiograph,
    shade_photo,
    write_demo_set,
    write_ply,
    write_stl,
)


@pytest.fixture(scope="module")
def scan():
    return lower_arch(1, triangles=8_000)


def test_stl_opens_elsewhere_with_the_same_triangles(scan, tmp_path):
    write_stl(tmp_path / "a.stl", scan.vertices, scan.faces, header="invented")

    mesh = trimesh.load(tmp_path / "a.stl", process=False)
    assert (tmp_path / "a.stl").stat().st_size == 84 + 50 * len(scan.faces)
    assert np.array_equal(mesh.triangles, scan.vertices.astype(np.float32)[scan.faces])


def test_ply_opens_elsewhere_with_places_and_colours(scan, tmp_path):
    write_ply(tmp_path / "a.ply", scan.vertices, scan.faces, scan.colours)

    mesh = trimesh.load(tmp_path / "a.ply", process=False)
    assert np.allclose(mesh.vertices, scan.vertices.astype(np.float32))
    assert np.array_equal(mesh.faces, scan.faces)
    assert np.array_equal(mesh.visual.vertex_colors[:, :3], scan.colours)


@pytest.mark.parametrize("header", ["solid arch", "x" * 81])
def test_misleading_stl_header_is_refused(scan, tmp_path, header):
    with pytest.raises(ValueError, match="80 ASCII"):
        write_stl(tmp_path / "a.stl", scan.vertices, scan.faces, header=header)
    assert not (tmp_path / "a.stl").exists()


@pytest.mark.slow
def test_demo_set_is_complete_and_the_same_twice(tmp_path):
    rows = write_demo_set(tmp_path / "one", seed=1, scale=0.15)
    again = write_demo_set(tmp_path / "two", seed=1, scale=0.15)

    digests = [
        [hashlib.sha256(row.path.read_bytes()).hexdigest() for row in some]
        for some in (rows, again)
    ]
    assert digests[0] == digests[1]
    assert len(set(digests[0])) == len(rows)
    asked = {"working_arch_scan_bodies", "working_arch", "opposing_arch", "bite_scan"}
    for case in ("bridge 45-47", "crown 36", "front 11"):
        assert asked < {row.role for row in rows if row.case == case}
    parts = [(row.part, row.sites) for row in rows if row.part]
    assert parts == [
        ("custom abutment", ("45",)),
        ("custom abutment", ("47",)),
        ("bridge", ("45", "46", "47")),
        ("crown", ("36",)),
        ("crown", ("11",)),
    ]


def test_shade_photo_carries_its_moment_and_a_neutral_card(tmp_path):
    photo = shade_photo(tmp_path, 1, taken_at=datetime(2031, 5, 6, 7, 8, 9))

    picture = Image.open(photo.path)
    card = np.asarray(picture.crop(photo.grey_card), dtype=float)[10:-10, 10:-10]
    # EXIF 2.3, tag 0x9003 DateTimeOriginal in the Exif IFD 0x8769 (from memory).
    assert picture.format == "JPEG"
    assert picture.getexif().get_ifd(0x8769)[0x9003] == "2031:05:06 07:08:09"
    assert np.ptp(card.mean(axis=(0, 1))) < 2
    tooth = np.asarray(picture.crop(photo.tooth), dtype=float).mean(axis=(0, 1))
    assert np.allclose(tooth, photo.tooth_rgb, atol=3)


def test_radiograph_is_an_intraoral_picture_of_an_invented_patient(tmp_path):
    path = radiograph(tmp_path, 1, "45", date(2031, 5, 6))

    data = pydicom.dcmread(path)
    assert data.SOPClassUID.name == "Digital Intra-Oral X-Ray Image Storage - For Presentation"
    assert data.StudyDate == "20310506" and data.Modality == "IO"
    assert data.PatientID.startswith("INVENTED")
    assert data.pixel_array.shape == (data.Rows, data.Columns)
    assert data.pixel_array.max() > 2 * np.median(data.pixel_array)
    assert (
        path.read_bytes() == radiograph(tmp_path / "b", 1, "45", date(2031, 5, 6)).read_bytes()
    )


def test_radiograph_without_a_day_is_refused(tmp_path):
    with pytest.raises(ValueError, match="date"):
        radiograph(tmp_path, 1, "45", "yesterday")
