"""Is a file taken as it came, or refused so that nothing is left of it?"""

import hashlib
import io
import re
import subprocess
import time
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection

from casework.audit.models import Entry
from casework.evidence import services
from casework.evidence.models import Evidence
from orders.jobs import services as jobs
from orders.jobs.models import Job
from orders.refusals import Refused
from tests.casework.evidence import making
from tests.shapes import box


def only(response):
    (outcome,) = response.json()["files"]
    return outcome


def test_a_file_is_kept_byte_for_byte(send, case, sign_in, dentist):
    data = making.arch_stl()

    answer = only(send({"upper jaw.stl": data}))

    assert (answer["outcome"], answer["number"], answer["format"]) == ("taken", 1, "STL")
    evidence = Evidence.objects.get()
    got = b"".join(
        sign_in(dentist).get(f"/cases/{case.code}/files/1/download/").streaming_content
    )
    assert got == data
    # The digest as coreutils' sha256sum computes it.
    said = subprocess.run(["sha256sum"], input=data, capture_output=True, check=True).stdout
    assert evidence.sha256 == said.decode().split()[0]
    assert evidence.storage_key.startswith(
        f"{dentist.party_id}/{case.code}/received/{evidence.sha256}"
    )
    assert Job.objects.get(kind="evidence.inspect").subject_id == evidence.pk


def test_several_files_have_each_their_own_outcome(send):
    response = send(
        {"upper.stl": making.arch_stl(), "empty.stl": b"", "note.pdf": making.pdf()}
    )

    outcomes = {file["name"]: file["outcome"] for file in response.json()["files"]}
    assert outcomes == {"upper.stl": "taken", "empty.stl": "refused", "note.pdf": "taken"}
    assert response.status_code == 201


def test_the_page_works_without_script(send):
    page = send({"upper.stl": making.arch_stl(), "empty.stl": b""}, api=False)

    assert page.status_code == 200
    text = page.content.decode()
    assert "taken as file 1 (STL)" in text
    assert "empty.stl is empty" in text


def test_no_file_chosen_is_said(send, is_as_before):
    page = send({}, api=False)

    assert page.status_code == 400
    assert "Choose at least one file" in page.content.decode()
    assert is_as_before(refused=0)


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("scan.stl", b"", r"scan\.stl is empty"),
        ("scan.stl", making.binary_stl()[:454], r"scan\.stl is cut off.*12.*7"),
        ("scan.stl", b"solid x\nendsolid x\n", r"no triangles"),
        ("scan.stl", bytes(84), r"no triangles"),
        ("picture.stl", making.picture("PNG"), r"picture\.stl is a picture \(PNG\)"),
        ("scan.glb", b"glTF\2\0\0\0" + bytes(40), r"scan\.glb is a GLB.*STL, PLY, OBJ"),
        (
            "photo.svg",
            b'<?xml version="1.0"?>\n<svg xmlns="http://www.w3.org/2000/svg"/>',
            r"photo\.svg is a drawing \(SVG\)",
        ),
        ("photo.jpg", b"<!-- x --><svg onload='alert(1)'/>", r"drawing \(SVG\)"),
        ("scan.txt", "<svg/>".encode("utf-16"), r"drawing \(SVG\)"),
        ("scan.txt", b"<!DOCTYPE html><script>1</script>", r"web page \(HTML\)"),
        ("photo.heic", b"\0\0\0\x18ftypheic" + bytes(40), r"picture \(HEIC\)"),
        ("tool.stl", b"MZ" + bytes(200), r"program"),
        ("tool.txt", b"#!/bin/sh\nexit\n", r"program"),
        ("photo.jpg", making.picture("JPEG")[:-200], r"damaged picture"),
        ("photo.png", making.picture("PNG")[:-40], r"damaged picture"),
        ("letter.pdf", making.pdf()[:-10], r"cut off"),
        ("volume.dcm", bytes(128) + b"DICM" + b"\1" * 60, r"DICOM file without an image"),
        ("volume.dcm", making.dicom()[:-60], r"damaged DICOM"),
        ("what.bin", b"\1\2\3" * 90, r"in no format that is taken here"),
        ("words.md", b"some words\n", r"in no format that is taken here"),
    ],
    ids=lambda value: value if isinstance(value, str) and " " not in value else "",
)
def test_what_is_refused_at_once_leaves_nothing(send, is_as_before, name, data, words):
    response = send({name: data})

    assert response.status_code == 422
    answer = only(response)
    assert answer["outcome"] == "refused"
    assert re.search(words, " ".join(answer["sentences"]))
    assert is_as_before()
    assert name not in Entry.objects.get(kind="evidence.refused").text


def test_a32_same_bytes_in_the_other_slot_are_taken_with_a_warning(send):
    data = making.arch_stl()

    first = only(send({"upper.stl": data}, role="working_arch", jaw="upper"))
    second = only(send({"lower.stl": data}, role="opposing_arch", jaw="lower"))

    assert first["sentences"] == []
    assert second["outcome"] == "taken"
    assert "same bytes as file 1" in second["sentences"][0]
    one, two = Evidence.objects.order_by("number")
    assert one.sha256 == two.sha256
    assert one.storage_key != two.storage_key


def test_same_bytes_in_the_same_slot_are_there_already(send, stored):
    data = making.arch_stl()
    send({"upper.stl": data}, role="working_arch", jaw="upper")
    before = stored()

    again = only(send({"other name.stl": data}, role="working_arch", jaw="upper"))

    assert (again["outcome"], again["number"]) == ("was there", 1)
    assert Evidence.objects.count() == 1
    assert stored() == before


def test_the_same_file_dropped_again_after_it_was_confirmed_is_there_already(send, dentist):
    data = making.arch_stl()
    send({"export.stl": data})
    services.confirm_file(Evidence.objects.get(), by=dentist, role="bite_scan")

    again = only(send({"export.stl": data}))

    assert (again["outcome"], again["number"]) == ("was there", 1)


def test_a07_a25_remarks_are_told_to_the_sender(send):
    extra = making.arch_stl() + b"Testperson" * 50
    part = b"mtllib upper jaw colours.mtl\nv 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n"

    found = send({"upper jaw scan.obj": part, "lower.stl": extra}).json()["files"]

    assert "“upper jaw colours.mtl”" in found[0]["sentences"][0]
    assert found[0]["name"] == "upper jaw scan.obj"
    assert "500 extra bytes" in found[1]["sentences"][0]


def test_a33_really_ply_and_really_stl_are_taken_by_content_with_a_note(send):
    answers = send(
        {"really_ply.stl": making.text_ply(), "really_stl.ply": making.binary_stl()}
    ).json()["files"]

    assert [answer["format"] for answer in answers] == ["PLY", "STL"]
    assert "is PLY by its content" in answers[0]["sentences"][0]
    assert "is STL by its content" in answers[1]["sentences"][0]


def test_a_picture_in_a_slot_for_surfaces_is_refused(send, is_as_before):
    answer = only(send({"arch.png": making.picture("PNG")}, role="working_arch", jaw="upper"))

    assert "arch.png: A file in the format PNG cannot be" in answer["sentences"][0]
    assert is_as_before()


def test_a_file_too_large_is_refused_and_the_next_one_taken(send, stored, monkeypatch):
    monkeypatch.setattr("casework.evidence.uploading.FILE_MAX_BYTES", 1000)

    answers = send({"big.stl": making.arch_stl() * 9, "ok.stl": making.arch_stl()}).json()

    said = {file["name"]: file["outcome"] for file in answers["files"]}
    assert said == {"big.stl": "refused", "ok.stl": "taken"}
    assert len(stored()) == 1


def test_a_file_too_large_alone_is_not_said_to_have_broken_off(send, stored, monkeypatch):
    monkeypatch.setattr("casework.evidence.uploading.FILE_MAX_BYTES", 1000)

    answer = send({"big.stl": making.arch_stl() * 9})

    assert answer.status_code == 422
    (file,) = answer.json()["files"]
    assert file["outcome"] == "refused" and "larger than" in " ".join(file["sentences"])
    assert not stored()


def test_an_upload_too_large_altogether_is_refused_before_it_is_read(
    send, is_as_before, monkeypatch
):
    monkeypatch.setattr("casework.evidence.uploading.REQUEST_MAX_BYTES", 500)

    page = send({"upper.stl": making.arch_stl()}, api=False)

    assert page.status_code == 413
    assert "larger than" in page.content.decode()
    assert is_as_before(refused=0)


def test_too_many_files_at_once_are_refused_in_a_sentence(send, is_as_before, settings):
    settings.DATA_UPLOAD_MAX_NUMBER_FILES = 2
    files = {f"{number}.stl": making.arch_stl() for number in range(3)}

    response = send(files)

    assert response.status_code == 413
    assert "files came at once" in response.json()["detail"]
    assert is_as_before(refused=0)


class Breaking(io.BytesIO):
    """A request body whose sender goes away."""

    def __init__(self, data):
        super().__init__(data[: len(data) // 2])

    def read(self, *args):
        if piece := super().read(*args):
            return piece
        raise OSError("the sender is gone")


class Short(Breaking):
    """A server that ends the body where the sender went away."""

    def read(self, *args):
        return io.BytesIO.read(self, *args)


@pytest.mark.parametrize("body", [Breaking, Short])
@pytest.mark.parametrize("address", ["/api/cases/{}/files/", "/cases/{}/files/add/"])
def test_a36_a_broken_off_upload_leaves_nothing(
    case, dentist, sign_in, is_as_before, send, body, address
):
    head = (
        b'--XyZ\r\nContent-Disposition: form-data; name="files"; filename="scan.stl"\r\n'
        b"Content-Type: application/octet-stream\r\n\r\n"
    )
    full = head + making.arch_stl() + b"\r\n--XyZ--\r\n"

    response = sign_in(dentist).generic(
        "POST",
        address.format(case.code),
        b"",
        CONTENT_TYPE="multipart/form-data; boundary=XyZ",
        CONTENT_LENGTH=str(len(full)),
        **{"wsgi.input": body(full)},
    )

    assert response.status_code == 400
    assert "The upload broke off before its end" in response.content.decode()
    assert is_as_before(refused=0)
    assert only(send({"scan.stl": making.arch_stl()}))["outcome"] == "taken"


def test_a_stream_that_breaks_leaves_nothing(case, dentist, is_as_before):
    with pytest.raises(OSError, match="gone"):
        services.receive_file(
            case, by=dentist, stream=Breaking(making.arch_stl()), name="scan.stl"
        )

    assert is_as_before(refused=0)


def test_a_transaction_that_fails_takes_the_stored_bytes_along(
    case, dentist, is_as_before, monkeypatch
):
    def refuse(case):
        raise Refused("not today")

    monkeypatch.setattr("casework.evidence.receiving.refresh_summary", refuse)
    with pytest.raises(Refused):
        services.receive_file(
            case, by=dentist, stream=io.BytesIO(making.arch_stl()), name="scan.stl"
        )

    assert is_as_before(refused=0)


@pytest.mark.django_db(transaction=True)
def test_d15_an_upload_succeeds_while_the_broker_is_away(send, run_jobs, monkeypatch):
    def broken(job_id):
        raise ConnectionError("no broker")

    monkeypatch.setattr(jobs, "_wakers", [broken])
    began = time.monotonic()

    answer = only(send({"upper.stl": making.arch_stl()}, role="working_arch", jaw="upper"))

    assert answer["outcome"] == "taken"
    assert time.monotonic() - began < 5
    assert Evidence.objects.get().state == "waiting"
    run_jobs()
    assert Evidence.objects.get().state == "readable"


def test_two_parties_never_share_stored_bytes(case, send, other_practice, stored):
    from tests import factories

    stranger = factories.make_member(other_practice, "dentist")
    their = factories.make_case(stranger)
    send({"upper.stl": making.arch_stl()})
    send({"upper.stl": making.arch_stl()}, by=stranger, on=their)

    assert len(stored()) == 2
    assert len(set(Evidence.objects.values_list("storage_key", flat=True))) == 2


def test_f04_and_strangers_never_get_to_send(case, other_practice, sign_in, stored):
    from tests import factories

    stranger = sign_in(factories.make_member(other_practice, "dentist"))
    for address in (f"/api/cases/{case.code}/files/", f"/cases/{case.code}/files/add/"):
        stream = io.BytesIO(making.arch_stl())
        stream.name = "upper.stl"
        assert stranger.post(address, {"files": stream}).status_code == 404
    assert not stored()


def test_f03_an_upload_without_a_token_is_refused(case, dentist, sign_in, is_as_before):
    from django.test import Client

    client = sign_in(dentist, on=Client(enforce_csrf_checks=True))
    for address in (f"/api/cases/{case.code}/files/", f"/cases/{case.code}/files/add/"):
        stream = io.BytesIO(making.arch_stl())
        stream.name = "upper.stl"
        response = client.post(
            address, {"files": stream}, HTTP_ORIGIN="https://elsewhere.example"
        )
        assert response.status_code == 403
    assert is_as_before(refused=0)


@pytest.mark.django_db(transaction=True)
def test_files_sent_at_the_same_moment_are_numbered_without_gap(case, dentist):
    def one(width):
        try:
            services.receive_file(
                case,
                by=dentist,
                stream=io.BytesIO(making.binary_stl(box(width))),
                name=f"{width}.stl",
            )
        finally:
            connection.close()

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(one, range(20, 28)))

    assert list(Evidence.objects.order_by("number").values_list("number", flat=True)) == list(
        range(1, 9)
    )


def test_a_proposal_is_not_a_confirmation(send):
    send({"upper scanbody.stl": making.arch_stl()})
    send({"named.stl": making.arch_stl()}, role="opposing_arch", jaw="upper")

    proposed, said = Evidence.objects.order_by("number")
    assert (proposed.role, proposed.jaw) == ("working_arch_scan_bodies", "upper")
    assert (proposed.is_confirmed, said.is_confirmed) == (False, True)


def test_digests_in_the_trail_are_of_the_bytes_sent(send):
    data = making.arch_stl()
    send({"upper.stl": data})

    assert hashlib.sha256(data).hexdigest() in Entry.objects.get(kind="evidence.received").text


def test_a28_box_of_another_width_is_another_file(send):
    send({"a.stl": making.binary_stl(box(10))})
    send({"a.stl": making.binary_stl(box(12))})

    assert len(set(Evidence.objects.values_list("sha256", flat=True))) == 2
