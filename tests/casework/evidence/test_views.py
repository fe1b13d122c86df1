"""Who sees which file, under which name, and with which headers does it leave?"""

import io
import json
import re
import subprocess
import zipfile
from urllib.parse import unquote

import pytest

from casework.audit.models import Entry
from casework.cases.models import CaseParty
from casework.evidence import services
from casework.evidence.models import Derived, Evidence
from casework.evidence.services import Slot
from casework.handoffs.models import HandedFile, Handoff
from tests import factories
from tests.casework.evidence import making

ARCH = {"role": "working_arch", "jaw": "upper"}


@pytest.fixture
def received(case, dentist, run_jobs):
    def receive(data=None, name="Testperson upper.stl", by=dentist, **says):
        evidence = services.receive_file(
            case,
            by=by,
            stream=io.BytesIO(data or making.arch_stl()),
            name=name,
            slot=Slot(**(says or ARCH)),
        ).evidence
        run_jobs()
        return Evidence.objects.get(pk=evidence.pk)

    return receive


@pytest.fixture
def handed_over(case, dentist, laboratory):
    """Makes files visible to the laboratory as an offer does."""

    def hand(*files, state="offered"):
        CaseParty.objects.filter(case=case, party=laboratory).update(seen_from=case.stage_since)
        handoff = Handoff.objects.create(
            case=case,
            number=case.handoffs.count() + 1,
            move="send_order",
            source="scan capture",
            target="design",
            from_party=dentist.party,
            to_party=laboratory,
            state=state,
            offered_by=dentist,
            offered_at=case.stage_since,
        )
        for evidence in files:
            copy = Derived.objects.get(evidence=evidence)
            HandedFile.objects.create(
                handoff=handoff, evidence=evidence, sha256=copy.sha256, name=copy.name
            )
        return handoff

    return hand


def body(response):
    return b"".join(response.streaming_content)


def test_the_list_says_state_and_what_was_found(received, sign_in, dentist, case):
    received()
    received(making.binary_stl(), "lower.stl", role="opposing_arch", jaw="lower")

    page = sign_in(dentist).get(f"/cases/{case.code}/files/")

    text = page.content.decode()
    assert page.status_code == 200
    assert "Testperson upper.stl" in text
    assert "its unit must be settled" in text


def test_the_page_of_a_file_shows_measures_and_the_copy(received, sign_in, dentist, case):
    evidence = received()

    text = sign_in(dentist).get(f"/cases/{case.code}/files/1/").content.decode()

    assert "60.00 × 45.00 × 15.00 mm" in text
    assert Derived.objects.get().sha256 in text and evidence.sha256 in text
    assert f"{case.code}-upper-working_arch-1.stl" in text


def test_no_figure_is_shown_before_the_unit_is_settled(received, sign_in, dentist, case):
    received(making.binary_stl(), **ARCH)
    client = sign_in(dentist)

    before = client.get(f"/cases/{case.code}/files/1/").content.decode()
    answer = client.post(f"/cases/{case.code}/files/1/unit/", {"unit": "millimetre"})

    assert "What was measured in it" not in before
    assert "Settle the unit" in before
    assert (answer.status_code, Evidence.objects.get().unit_factor) == (302, "1")


def test_the_confirm_form_answers_beside_the_field(received, sign_in, dentist, case):
    received()
    client = sign_in(dentist)
    address = f"/cases/{case.code}/files/1/confirm/"

    wrong = client.post(address, {"role": "margins", "jaw": "upper", "sites": ""})
    right = client.post(
        address,
        {"role": "margins", "jaw": "lower", "sites": "45", "taken_on": "2026-03-04"},
    )

    assert wrong.status_code == 422
    assert "say which sites" in wrong.content.decode()
    assert right.status_code == 302
    evidence = Evidence.objects.get()
    assert (evidence.role, evidence.sites, evidence.is_confirmed) == ("margins", ["45"], True)


def test_a_refusal_comes_back_with_409(received, handed_over, sign_in, dentist, case):
    handed_over(received())

    answer = sign_in(dentist).post(
        f"/cases/{case.code}/files/1/confirm/", {"role": "opposing_arch", "jaw": "lower"}
    )

    assert answer.status_code == 409
    assert "was handed over as it is" in answer.content.decode()


def test_a_file_is_replaced_from_its_page(received, sign_in, dentist, case):
    received()
    stream = io.BytesIO(making.binary_stl())
    stream.name = "better.stl"

    page = sign_in(dentist).post(
        f"/cases/{case.code}/files/add/?replaces=1", {"files": stream, **ARCH}
    )

    assert page.status_code == 200
    assert Evidence.objects.get(number=1).superseded_by.number == 2
    listed = sign_in(dentist).get(f"/cases/{case.code}/files/").content.decode()
    history = sign_in(dentist).get(f"/cases/{case.code}/files/?all=1").content.decode()
    assert "files/1/" not in listed and "files/1/" in history


@pytest.mark.parametrize(
    "name", ["Brücke_山田 (v2).stl", 'a"b;c.stl', "50%41.stl", "a\r\nSet-Cookie: x=1.stl"]
)
def test_e09_the_saved_name_is_the_name_that_was_sent(received, sign_in, dentist, case, name):
    received(name=name)

    response = sign_in(dentist).get(f"/cases/{case.code}/files/1/download/")

    response.close()
    header = response["Content-Disposition"]
    assert "\r" not in header and "\n" not in header
    # RFC 6266 and RFC 8187: the extended form wins over the quoted one.
    extended = re.search(r"filename\*=utf-8''(\S+)", header)
    plain = re.search(r'filename="((?:[^"\\]|\\.)*)"', header)
    said = unquote(extended[1]) if extended else re.sub(r"\\(.)", r"\1", plain[1])
    assert said == name.replace("\r", "").replace("\n", "")


def test_f04_a_download_is_never_shown_inline(received, sign_in, dentist, case):
    received(making.picture("JPEG"), "photo.jpg", role="photograph")

    response = sign_in(dentist).get(f"/cases/{case.code}/files/1/download/")

    response.close()
    assert response["Content-Disposition"].startswith("attachment;")
    assert response["X-Content-Type-Options"] == "nosniff"
    assert response["Content-Security-Policy"] == "default-src 'none'; sandbox"
    assert response["Cache-Control"] == "private, no-store"
    assert response["Content-Type"] == "image/jpeg"


def test_f02_no_bytes_without_sign_in_or_for_a_stranger(
    received, client, sign_in, case, laboratory, technician, other_practice
):
    evidence = received()
    address = f"/cases/{case.code}/files/1/download/"

    signed_out = client.get(address)
    stranger = sign_in(factories.make_member(other_practice, "dentist"))
    foreign = [stranger.get(address), stranger.get(address.replace("/1/", "/2/"))]
    not_yet = sign_in(technician).get(address)

    assert signed_out.status_code == 302
    assert [answer.status_code for answer in foreign] == [404, 404]
    assert not_yet.status_code == 404
    for folder in ("media", "files", "static"):
        answer = client.get(f"/{folder}/{evidence.storage_key}")
        assert answer.status_code == 404
    assert "private" in signed_out["Cache-Control"]


def test_the_laboratory_gets_the_copy_under_its_neutral_name(
    received, handed_over, sign_in, technician, case
):
    evidence = received(making.arch_stl(header=b"Testperson Alpha"))
    other = received(making.binary_stl(), "second.stl", role="opposing_arch", jaw="lower")
    handed_over(evidence)
    client = sign_in(technician)

    response = client.get(f"/cases/{case.code}/files/1/download/")
    pages = [
        client.get(f"/cases/{case.code}/files/{path}").content.decode() for path in ("", "1/")
    ]
    api = client.get(f"/api/cases/{case.code}/files/").json()

    assert f"{case.code}-upper-working_arch-1.stl" in response["Content-Disposition"]
    assert b"estperson" not in body(response)
    assert not [page for page in pages if "Testperson" in page]
    assert not [page for page in pages if evidence.sha256 in page]
    assert "Testperson" not in json.dumps(api)
    assert [file["number"] for file in api["files"]] == [1]
    for path in ("", "download/"):
        answer = client.get(f"/cases/{case.code}/files/{other.number}/{path}")
        assert answer.status_code == 404


def test_a_withdrawn_offer_takes_the_files_back(
    received, handed_over, sign_in, technician, case
):
    handed_over(received(), state="withdrawn")

    answer = sign_in(technician).get(f"/cases/{case.code}/files/1/download/")

    assert answer.status_code == 404


def test_the_front_desk_sees_no_files(received, sign_in, front_desk, case):
    received()

    client = sign_in(front_desk)
    addresses = ["", "1/", "1/download/", "add/"]
    for address in addresses:
        assert client.get(f"/cases/{case.code}/files/{address}").status_code == 403
    assert client.get(f"/api/cases/{case.code}/files/").status_code == 403
    assert client.post(f"/cases/{case.code}/files/take-along/").status_code == 403


def test_everything_comes_in_one_folder_that_proves_itself(
    received, handed_over, sign_in, technician, case, tmp_path
):
    first = received()
    second = received(making.picture("PNG"), "photo.png", role="photograph")
    handed_over(first, second)

    response = sign_in(technician).post(f"/cases/{case.code}/files/take-along/")

    assert response["Content-Type"] == "application/zip"
    assert f'filename="{case.code}.zip"' in response["Content-Disposition"]
    with zipfile.ZipFile(io.BytesIO(body(response))) as archive:
        archive.extractall(tmp_path / "got")
    root = tmp_path / "got" / case.code
    checked = subprocess.run(
        ["sha256sum", "--check", "--strict", "manifest-sha256.txt"],
        cwd=root,
        capture_output=True,
        text=True,
        check=True,
    )
    assert checked.stdout.count(": OK") == 2
    assert {path.name for path in (root / "data").iterdir()} == {
        f"{case.code}-upper-working_arch-1.stl",
        f"{case.code}-case-photograph-2.png",
    }
    assert "downloaded 2 files" in _said(Entry.objects.get(kind="evidence.downloaded"))


def _said(entry):
    from casework.audit.kinds import KINDS

    return KINDS[entry.kind].format(**json.loads(entry.text)["facts"])


def test_a_report_does_not_go_along(received, sign_in, dentist, case):
    received(making.pdf(), "letter.pdf", role="report")

    page = sign_in(dentist).get(f"/cases/{case.code}/files/").content.decode()
    answer = sign_in(dentist).post(f"/cases/{case.code}/files/take-along/")

    assert "Download everything" not in page
    assert answer.status_code == 409


@pytest.mark.parametrize(
    "path", ["1/confirm/", "1/unit/", "take-along/"], ids=["confirm", "unit", "bag"]
)
def test_f03_what_changes_something_is_not_to_be_had_by_get(
    received, sign_in, dentist, case, path
):
    received()

    assert sign_in(dentist).get(f"/cases/{case.code}/files/{path}").status_code == 405


def test_proposals_are_confirmed_from_the_list(received, sign_in, dentist, case):
    received(name="bite.stl", role="")
    client = sign_in(dentist)

    page = client.get(f"/cases/{case.code}/files/").content.decode()
    answer = client.post(f"/cases/{case.code}/files/confirm/", follow=True)

    assert "All proposals below are right" in page
    assert "Confirmed: file 1." in answer.content.decode()
    assert Evidence.objects.get().is_confirmed


def test_a_processed_scan_names_the_raw_one(
    received, handed_over, sign_in, dentist, practice, case
):
    centre = factories.make_party("scan_centre", partner_of=practice)
    processor = factories.make_member(centre, "scan processor")
    CaseParty.objects.create(
        case=case, party=centre, side="scan centre", seen_from=case.stage_since
    )
    raw = received()
    handoff = handed_over(raw)
    Handoff.objects.filter(pk=handoff.pk).update(to_party=centre)
    client = sign_in(processor)

    page = client.get(f"/cases/{case.code}/files/1/").content.decode()
    stream = io.BytesIO(making.arch_stl(header=b"cleaned up"))
    stream.name = "cleaned.stl"
    answer = client.post(
        f"/cases/{case.code}/files/add/?made_from=1", {"files": stream, **ARCH}
    )

    assert "add/?made_from=1" in page
    assert answer.status_code == 200
    made = Evidence.objects.get(number=2)
    assert (made.made_from, made.party, made.role) == (raw, centre, raw.role)
    raw.refresh_from_db()
    assert raw.is_current


def test_the_upload_page_needs_no_script(sign_in, dentist, case):
    text = sign_in(dentist).get(f"/cases/{case.code}/files/add/").content.decode()

    assert 'enctype="multipart/form-data"' in text
    assert re.search(r'<input type="file" name="files"[^>]* multiple', text)
    assert "HEIC" not in text and "STL, PLY, OBJ, DICOM" in text
