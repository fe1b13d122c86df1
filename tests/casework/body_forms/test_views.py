"""Does the page take a mesh, say what it holds, give it back, and refuse with its reason?"""

import hashlib
import io

import pytest
from django.urls import reverse

from casework.body_forms.models import BodyForm
from tests.casework.body_forms.making import make_scan_body, put_mesh, round_stl


@pytest.fixture
def send(sign_in, technician, scan_body):
    def post(data, name="own form.stl", unit="millimetre"):
        stream = io.BytesIO(data)
        stream.name = name
        address = reverse("body_form", args=[scan_body.pk])
        return sign_in(technician).post(address, {"file": stream, "unit": unit}, follow=True)

    return post


def test_sent_mesh_stands_on_the_page(send, scan_body, technician):
    answer = send(round_stl())

    page = answer.text
    assert answer.status_code == 200
    assert "own form.stl" in page and "256 triangles" in page and "12.9 kB" in page
    assert "8.00 mm" in page and "4.50 mm" in page
    assert technician.person.name in page and BodyForm.objects.get().sha256 in page


def test_page_says_how_the_mesh_stands_and_what_is_taken(sign_in, technician, scan_body):
    page = sign_in(technician).get(reverse("body_form", args=[scan_body.pk])).text

    assert "centre of the implant's platform" in page and "towards the crown" in page
    assert "20 MiB" in page and "200,000 triangles" in page
    assert (
        '<input type="radio" name="unit" value="millimetre" id="id_unit_0" required checked>'
        in page
    )


def test_downloaded_mesh_is_what_was_sent(send, client, scan_body):
    data = round_stl()
    send(data)

    answer = client.get(
        reverse("body_form_file", args=[scan_body.pk, BodyForm.objects.get().pk])
    )

    assert b"".join(answer.streaming_content) == data
    assert answer["X-Content-SHA256"] == hashlib.sha256(data).hexdigest()
    assert 'filename="own form.stl"' in answer["Content-Disposition"]


@pytest.mark.parametrize(
    "data,says",
    [
        (b"no mesh at all", "holds text that is not STL, PLY or OBJ"),
        (bytes(20 * 2**20 + 1), "is larger than 20 MiB"),
    ],
)
def test_refusal_gives_its_reason(send, data, says):
    answer = send(data)

    assert answer.status_code == 409 and says in answer.text
    assert "Nothing was changed." in answer.text and not BodyForm.objects.exists()


def test_nothing_chosen_and_a_unit_that_is_none(sign_in, technician, scan_body, send):
    address = reverse("body_form", args=[scan_body.pk])

    answer = sign_in(technician).post(address, {"unit": "millimetre"})
    assert answer.status_code == 409 and "Choose one file" in answer.text
    assert send(round_stl(), unit="cubit").status_code == 422
    assert not BodyForm.objects.exists()


def test_removed_mesh_is_listed_as_of_before(send, client, scan_body):
    send(round_stl())

    answer = client.post(reverse("body_form_remove", args=[scan_body.pk]), follow=True)

    assert "The mesh is removed" in answer.text and "<h2>Meshes before</h2>" in answer.text
    again = client.post(reverse("body_form_remove", args=[scan_body.pk]))
    assert again.status_code == 409 and "no mesh of its form" in again.text


def test_catalogue_and_part_say_that_a_mesh_tells_the_form(send, client, scan_body):
    assert "form by a mesh" not in client.get(reverse("catalogue")).text
    send(round_stl())

    assert "form by a mesh" in client.get(reverse("catalogue")).text
    page = client.get(reverse("component", args=[scan_body.pk])).text
    assert "own form.stl" in page and reverse("body_form", args=[scan_body.pk]) in page


def test_what_is_not_the_partys_own_scan_body_has_no_page(
    sign_in, technician, practice, dentist
):
    shared, foreign = make_scan_body(None), make_scan_body(practice)
    driver = make_scan_body(technician.party, kind="driver", part_number="D-1")
    mesh = put_mesh(foreign, by=dentist)
    client = sign_in(technician)

    wanted = ((shared, 403), (foreign, 404), (driver, 404))
    for row, status in wanted:
        assert client.get(reverse("body_form", args=[row.pk])).status_code == status
    own = make_scan_body(technician.party)
    # A mesh of another's under the address of one's own scan body.
    assert client.get(reverse("body_form_file", args=[own.pk, mesh.pk])).status_code == 404
