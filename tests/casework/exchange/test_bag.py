"""Can the receiver prove, with standard tools, that every file came unchanged?"""

import hashlib
import io
import subprocess
import zipfile
from datetime import UTC, datetime

import pytest

from casework.exchange.bag import BagBroken, Payload, bag

AT = datetime(2026, 3, 4, 10, 11, tzinfo=UTC)


def payload(name, data, sha256=""):
    return Payload(
        name, sha256 or hashlib.sha256(data).hexdigest(), len(data), lambda: io.BytesIO(data)
    )


FILES = {
    "K7Q-ABCD-45-working_arch-1.stl": b"solid part\nendsolid part\n" * 4000,
    "K7Q-ABCD-upper-photograph-2.jpg": bytes(range(256)) * 300,
    "K7Q-ABCD-case-bite_scan-3.ply": b"",
}


def extracted(folder, pieces):
    path = folder / "bag.zip"
    path.write_bytes(b"".join(pieces))
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None
        archive.extractall(folder)
    return folder


def test_sha256sum_finds_every_file_unchanged(tmp_path):
    made = bag("K7Q-ABCD", [payload(*file) for file in FILES.items()], made_at=AT)

    root = extracted(tmp_path, made) / "K7Q-ABCD"

    for manifest in ("manifest-sha256.txt", "tagmanifest-sha256.txt"):
        # GNU coreutils.
        subprocess.run(
            ["sha256sum", "--check", "--strict", manifest],
            cwd=root,
            check=True,
            capture_output=True,
        )
    assert {path.name: path.read_bytes() for path in (root / "data").iterdir()} == FILES


def test_the_layout_is_a_bag(tmp_path):
    made = bag(
        "K7Q-ABCD", [payload(*file) for file in FILES.items()], made_at=AT, source="A\nPractice"
    )

    root = extracted(tmp_path, made) / "K7Q-ABCD"

    # RFC 8493, 2.1.1: exactly these two lines.
    assert (root / "bagit.txt").read_bytes() == (
        b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
    )
    about = (root / "bag-info.txt").read_text()
    # RFC 8493, 2.2.2: octets and number of the payload files.
    assert f"Payload-Oxum: {sum(map(len, FILES.values()))}.3\n" in about
    assert "Source-Organization: A Practice\n" in about
    assert "Bagging-Date: 2026-03-04\n" in about
    lines = (root / "manifest-sha256.txt").read_text().splitlines()
    assert [line.split("  ")[1] for line in lines] == [f"data/{name}" for name in FILES]
    assert {path.name for path in root.iterdir()} == {
        "bagit.txt",
        "bag-info.txt",
        "manifest-sha256.txt",
        "tagmanifest-sha256.txt",
        "data",
    }


def test_a_file_that_changed_ends_the_download(tmp_path):
    pieces = bag("K7Q-ABCD", [payload("a.stl", b"other", "0" * 64)], made_at=AT)

    with pytest.raises(BagBroken, match=r"a\.stl"):
        list(pieces)


def test_no_two_files_have_one_name(tmp_path):
    made = bag(
        "K7Q-ABCD",
        [payload("a.stl", b"1"), payload("A.stl", b"2"), payload("a.stl", b"3")],
        made_at=AT,
    )

    root = extracted(tmp_path, made)

    names = sorted(path.name for path in (root / "K7Q-ABCD" / "data").iterdir())
    assert names == ["A-2.stl", "a-3.stl", "a.stl"]


def test_nothing_is_opened_before_its_turn():
    opened = []

    def opening(name):
        def begin():
            opened.append(name)
            return io.BytesIO(b"x")

        return begin

    digest = hashlib.sha256(b"x").hexdigest()
    pieces = bag(
        "K7Q-ABCD", [Payload(n, digest, 1, opening(n)) for n in ("a", "b")], made_at=AT
    )

    next(pieces)
    assert opened == []
    list(pieces)
    assert opened == ["a", "b"]
