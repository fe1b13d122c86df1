"""Previews are made once for each reading of a file, by a job, and only of readable surfaces.

Boxes of the files are those that trimesh reads, a second general library.
"""

import pytest
import trimesh

from casework.evidence import keeping
from casework.evidence.models import Evidence
from casework.previews import making
from casework.previews.glb import vertices_of
from casework.previews.models import Preview
from casework.previews.queries import preview_of


@pytest.fixture
def scanned(tell):
    return tell("crown", "scan").case


def stored(preview):
    with keeping.opened(preview.storage_key) as file:
        return file.read()


def test_every_surface_of_a_case_has_its_preview(scanned):
    surfaces = [file for file in scanned.evidence.all() if making.can_be_made(file)]

    assert len(surfaces) >= 3
    for file in surfaces:
        preview = preview_of(file)
        assert preview.size_bytes == len(stored(preview)) <= making.MOST_BYTES
        assert preview.error_p99_um <= 50
        assert preview.has_colour == (file.format == "PLY")
    assert Preview.objects.count() == len(surfaces)


def test_a_preview_lies_where_its_file_lies(scanned):
    file = scanned.evidence.get(role="working_arch")
    with keeping.local_path(file.storage_key) as path:
        low, high = trimesh.load(path, file_type=file.format.lower()).bounds

    places = vertices_of(stored(preview_of(file)))

    assert places.min(axis=0) == pytest.approx(low, abs=0.05)
    assert places.max(axis=0) == pytest.approx(high, abs=0.05)


def test_asked_again_nothing_is_made(scanned):
    file = scanned.evidence.get(role="working_arch")
    before = preview_of(file)

    assert making.made_preview(file) == before
    assert Preview.objects.filter(evidence=file).count() == 1


def test_another_unit_is_another_preview(scanned):
    file = scanned.evidence.get(role="working_arch")
    small = vertices_of(stored(preview_of(file)))
    file.unit_factor = "10"

    large = vertices_of(stored(making.made_preview(file)))

    assert large == pytest.approx(10 * small, abs=0.1)


@pytest.mark.parametrize(
    "lacks", [{"unit_factor": ""}, {"state": "refused"}, {"format": "PDF"}]
)
def test_no_preview_of_what_is_no_readable_surface(scanned, lacks):
    Preview.objects.all().delete()
    Evidence.objects.filter(case=scanned, role="working_arch").update(**lacks)

    assert making.made_preview(scanned.evidence.get(role="working_arch")) is None
    assert not Preview.objects.exists()


def test_bytes_of_the_second_of_two_at_once_are_forgotten(scanned, monkeypatch, settings):
    file = scanned.evidence.get(role="working_arch")
    monkeypatch.setattr(making, "preview_of", lambda evidence: None)
    before = preview_of(file)
    forgotten = []
    forget = keeping.forget
    monkeypatch.setattr(keeping, "forget", lambda key: forgotten.append(key) or forget(key))

    assert making.made_preview(file) == before

    assert len(forgotten) == 1 and stored(before)
