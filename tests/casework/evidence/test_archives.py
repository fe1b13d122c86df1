"""Are the files of an archive taken, and only those, within the totals?"""

import io
import zipfile

import pytest

from casework.audit.models import Entry
from casework.evidence import archives
from casework.evidence.models import Evidence
from tests.casework.evidence import making
from tests.shapes import box

UPPER, LOWER = making.binary_stl(box(10)), making.binary_stl(box(12))


def outcomes(response):
    return {file["name"]: file for file in response.json()["files"]}


def test_each_member_becomes_a_file(send, stored):
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w") as made:
        made.writestr("export/upper.stl", UPPER)
        made.writestr("export/", b"")
        made.writestr("export/lower.stl", LOWER)
        made.writestr("__MACOSX/export/._lower.stl", b"\0\5\x16\7")

    found = outcomes(send({"scans.zip": archive.getvalue()}))

    assert {name: file["outcome"] for name, file in found.items()} == {
        "upper.stl": "taken",
        "lower.stl": "taken",
    }
    assert len(stored()) == 2


def test_a26_an_archive_that_expands_without_measure_is_refused(send, is_as_before):
    bomb = making.zip_of((b"upper.stl", UPPER), (b"lower.stl", bytes(64 << 20)))
    assert len(bomb) < 100_000

    response = send({"scans.zip": bomb})

    (answer,) = response.json()["files"]
    assert response.status_code == 422
    assert "lower.stl would expand to 64 MiB" in answer["sentences"][0]
    assert "times its packed size" in answer["sentences"][0]
    assert "Nothing was taken from the archive" in answer["sentences"][0]
    assert is_as_before()


def test_a26_a_table_of_contents_that_lies_is_found_while_unpacking(send, is_as_before):
    honest = making.zip_of((b"lower.stl", bytes(8 << 20)))
    # Both records say that the member has one byte only.
    lying = honest.replace((8 << 20).to_bytes(4, "little"), (1).to_bytes(4, "little"))

    (answer,) = send({"scans.zip": lying}).json()["files"]

    assert "lower.stl in the archive is damaged" in answer["sentences"][0]
    assert is_as_before()


def test_a26_totals_hold_over_all_members_and_inner_archives(send, is_as_before, monkeypatch):
    monkeypatch.setattr(archives, "TOTAL_MAX_BYTES", len(UPPER) * 3)
    inner = making.zip_of((b"a.stl", UPPER), (b"b.stl", LOWER))
    archive = making.zip_of((b"upper.stl", UPPER), (b"inner.zip", inner))

    (answer,) = send({"scans.zip": archive}).json()["files"]

    assert "all of it is too large" in answer["sentences"][0]
    assert is_as_before()


def test_a26_too_many_members_are_refused_before_the_table_is_read(send, is_as_before):
    archive = making.zip_of(*[(b"%d.stl" % n, b"x") for n in range(archives.MEMBERS_MAX + 1)])

    (answer,) = send({"scans.zip": archive}).json()["files"]

    assert "holds more than 200 files" in answer["sentences"][0]
    assert is_as_before()


def test_a27_names_that_climb_out_are_refused_by_name(send, stored, settings):
    bad = [
        b"../../escape_up.stl",
        b"/tmp/escape_abs.stl",
        b"..\\..\\escape_win.stl",
        b"C:\\escape_drive.stl",
    ]
    archive = making.zip_of((b"upper.stl", UPPER), *[(name, UPPER) for name in bad])

    found = outcomes(send({"scans.zip": archive}))

    assert found.pop("upper.stl")["outcome"] == "taken"
    assert set(found) == {name.decode() for name in bad}
    for name, file in found.items():
        assert file["outcome"] == "refused"
        assert name in file["sentences"][0]
    assert Evidence.objects.count() == len(stored()) == 1
    assert not [path for path in settings.DATA.rglob("*escape*")]


def test_a28_zip64_is_read(send):
    archive = making.zip_of((b"upper.stl", UPPER), (b"lower.stl", LOWER), zip64=True)

    found = outcomes(send({"scans.zip": archive}))

    assert {file["outcome"] for file in found.values()} == {"taken"}
    assert set(found) == {"upper.stl", "lower.stl"}
    assert found["upper.stl"]["sha256"] != found["lower.stl"]["sha256"]


def test_a29_a_password_is_named_as_the_reason(send, is_as_before):
    archive = making.zip_of((b"upper.stl", UPPER, 1))

    (answer,) = send({"scans.zip": archive}).json()["files"]

    assert "protected with a password" in answer["sentences"][0]
    assert is_as_before()


def test_a30_an_archive_inside_is_unpacked_once(send):
    inner = making.zip_of((b"upper.stl", UPPER))
    archive = making.zip_of((b"export/inner.zip", inner))

    found = outcomes(send({"scans.zip": archive}))

    assert found["upper.stl"]["outcome"] == "taken"
    assert Evidence.objects.count() == 1


def test_a30_deeper_archives_are_refused_by_name(send, is_as_before):
    archive = making.zip_of((b"upper.stl", UPPER))
    for name in (b"innermost.zip", b"inner.zip"):
        archive = making.zip_of((name, archive))

    (answer,) = send({"scans.zip": archive}).json()["files"]

    assert "innermost.zip was refused" in answer["sentences"][0]
    assert is_as_before()


def test_a31_names_in_three_encodings_are_read(send):
    archive = making.zip_of(
        ("Brücke_a.stl".encode("cp437"), making.binary_stl(box(10))),
        ("Brücke_b.stl".encode(), making.binary_stl(box(11))),
        ("Brücke_c.stl".encode(), making.binary_stl(box(12)), 0x800),
    )

    found = outcomes(send({"scans.zip": archive}))

    assert set(found) == {"Brücke_a.stl", "Brücke_b.stl", "Brücke_c.stl"}
    assert {file["outcome"] for file in found.values()} == {"taken"}
    assert set(Evidence.objects.values_list("original_name", flat=True)) == set(found)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (making.zip_of((b"upper.stl", UPPER))[:-30], "damaged ZIP archive"),
        (making.zip_of((b"upper.stl", UPPER)).replace(b"PK\1\2", b"PK\1\3"), "damaged"),
        (b"PK\5\6" + bytes(18), "without a file in it"),
    ],
    ids=["no end", "no table", "empty"],
)
def test_a_damaged_archive_is_refused_in_a_sentence(send, is_as_before, data, words):
    (answer,) = send({"scans.zip": data}).json()["files"]

    assert words in answer["sentences"][0]
    assert is_as_before()


def test_a_bad_member_does_not_take_the_good_one_along(send):
    svg = b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>"
    archive = making.zip_of((b"photo.svg", svg), (b"upper.stl", UPPER))

    found = outcomes(send({"scans.zip": archive}))

    assert found["photo.svg"]["outcome"] == "refused"
    assert found["upper.stl"]["outcome"] == "taken"
    kinds = list(
        Entry.objects.filter(kind__startswith="evidence").values_list("kind", flat=True)
    )
    assert sorted(kinds) == ["evidence.received", "evidence.refused"]


@pytest.mark.parametrize(
    ("name", "does"),
    [
        ("upper.stl", False),
        ("a/b.stl", False),
        ("a..b.stl", False),
        ("../b.stl", True),
        ("a/../b.stl", True),
        ("a\\..\\b.stl", True),
        ("/b.stl", True),
        ("c:b.stl", True),
        ("b\0.stl", True),
    ],
)
def test_what_climbs_out(name, does):
    assert archives.climbs(name) is does
