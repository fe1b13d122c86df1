"""What do the pages of the versions show, to whom, and how do they answer?"""

import pytest

from casework.designs import services
from casework.stages import Stage
from tests.bench import (
    NOON,
    make_component,
    make_mesh_file,
    make_ordered_case,
    make_version,
    put_at,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def ordered(dentist, laboratory):
    return make_ordered_case(dentist, laboratory)


def test_technician_builds_a_version_through_the_pages(ordered, technician, sign_in):
    client = sign_in(technician)
    mesh, screw = make_mesh_file(ordered, technician), make_component()
    base = f"/cases/{ordered.code}/designs/"

    assert client.post(f"{base}start/").status_code == 302
    made = {"kind": "bridge", "sites": "45-47", "evidence": mesh.pk}
    assert client.post(f"{base}1/made/", made).status_code == 302
    stock = {"kind": "retaining screw", "sites": "45", "component": screw.pk}
    assert client.post(f"{base}1/stock/", stock).status_code == 302
    assert client.post(f"{base}1/notes/", {"notes": "Look at 46."}).status_code == 302

    page = client.get(f"{base}1/").content.decode()
    assert "Look at 46." in page and mesh.sha256 in page and screw.part_number in page


def test_bad_input_is_said_beside_the_field_and_saves_nothing(ordered, technician, sign_in):
    client = sign_in(technician)
    version = services.start_version(ordered, by=technician)
    url = f"/cases/{ordered.code}/designs/1/stock/"

    unread = client.post(url, {"kind": "base", "sites": "99", "component": 1})
    refused = client.post(
        url, {"kind": "base", "sites": "46", "component": make_component("base").pk}
    )

    assert unread.status_code == 422
    assert refused.status_code == 409
    assert "no implant in this order" in refused.content.decode()
    assert version.parts.count() == 0


def test_dentist_sees_a_version_from_its_submission_on(ordered, technician, dentist, sign_in):
    version = make_version(ordered, technician)
    client = sign_in(dentist)
    url = f"/cases/{ordered.code}/designs/1/"

    assert client.get(url).status_code == 404
    services.submit_version(version, by=technician, at=NOON)
    put_at(ordered, Stage.DESIGN_APPROVAL)
    assert client.get(url).status_code == 200
    assert "Mark something" in client.get(url).content.decode()
    assert client.post(f"{url}mark/", {"text": "Flatter."}).status_code == 302
    assert "Flatter." in client.get(url).content.decode()


def test_front_desk_and_strangers_see_no_design(
    ordered, technician, front_desk, other_laboratory, sign_in
):
    from tests.factories import make_member

    make_version(ordered, technician)
    stranger = make_member(other_laboratory, "technician")
    url = f"/cases/{ordered.code}/designs/"

    assert sign_in(front_desk).get(url).status_code == 403
    assert sign_in(stranger).get(url).status_code == 404


def test_stale_notes_show_what_stands_beside_what_was_typed(ordered, technician, sign_in):
    version = make_version(ordered, technician)
    seen = version.digest
    services.save_notes(version, by=technician, notes="Of the first tab.")

    answer = sign_in(technician).post(
        f"/cases/{ordered.code}/designs/1/notes/",
        {"notes": "Of the second tab.", "seen": seen},
    )

    page = answer.content.decode()
    assert answer.status_code == 409
    assert "Of the first tab." in page and "Of the second tab." in page
