"""How are files packed so that the receiver can prove that each came unchanged?

A ZIP with one folder that is a bag (RFC 8493, BagIt 1.0): the files in `data/`, their SHA-256
in `manifest-sha256.txt` in the form `sha256sum -c` reads, checked in the folder itself. The
archive is made while it is sent; a file that does not have the digest promised for it ends the
download instead of completing it.
"""

import hashlib
import zipfile
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import BinaryIO

CHUNK_BYTES = 2**16
# These are compressed already, or nothing is gained (JPEG, PNG).
_STORED = (".jpg", ".png")


class BagBroken(Exception):
    """A file has not the bytes that the manifest promises."""


@dataclass(frozen=True, slots=True)
class Payload:
    """One file: the name it gets, the digest promised, its size, and how it is opened."""

    name: str
    sha256: str
    size_bytes: int
    open: Callable[[], BinaryIO]


class _Sink:
    """Where the archive is written; what was written is taken out piece by piece."""

    def __init__(self):
        self.pieces = []

    def write(self, data):
        self.pieces.append(bytes(data))
        return len(data)

    def flush(self):
        """Nothing is held back."""

    def taken(self):
        pieces, self.pieces = self.pieces, []
        return b"".join(pieces)


def bag(
    folder: str, payloads: Iterable[Payload], *, made_at: datetime, source: str = ""
) -> Iterator[bytes]:
    """The pieces of the archive, in order. `folder` is the name of its one folder."""
    payloads = unique(payloads)
    sink = _Sink()
    with zipfile.ZipFile(sink, "w", zipfile.ZIP_DEFLATED) as archive:
        tags = tag_files(folder, payloads, made_at=made_at, source=source)
        for name, text in tags.items():
            archive.writestr(_member(f"{folder}/{name}", made_at), text.encode())
        archive.writestr(
            _member(f"{folder}/tagmanifest-sha256.txt", made_at), tag_manifest(tags).encode()
        )
        yield sink.taken()
        for payload in payloads:
            member = _member(f"{folder}/data/{payload.name}", made_at)
            member.file_size = payload.size_bytes
            digest = hashlib.sha256()
            with payload.open() as stream, archive.open(member, "w") as out:
                while chunk := stream.read(CHUNK_BYTES):
                    digest.update(chunk)
                    out.write(chunk)
                    yield sink.taken()
            if digest.hexdigest() != payload.sha256:
                raise BagBroken(f"{payload.name} has not the digest of the manifest")
    yield sink.taken()


def tag_files(folder, payloads, *, made_at, source=""):
    """The bag's own files by name: declaration, description, manifest (RFC 8493, 2.1, 2.2)."""
    total = sum(payload.size_bytes for payload in payloads)
    about = [
        *([f"Source-Organization: {_one_line(source)}"] if source else []),
        f"Bagging-Date: {made_at:%Y-%m-%d}",
        f"Payload-Oxum: {total}.{len(payloads)}",
        f"External-Identifier: {folder}",
    ]
    lines = [f"{payload.sha256}  data/{_escaped(payload.name)}" for payload in payloads]
    return {
        "bagit.txt": "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n",
        "bag-info.txt": "\n".join(about) + "\n",
        "manifest-sha256.txt": "".join(f"{line}\n" for line in lines),
    }


def tag_manifest(tags):
    """Digests of the bag's own files (RFC 8493, 2.2.1)."""
    return "".join(
        f"{hashlib.sha256(text.encode()).hexdigest()}  {name}\n" for name, text in tags.items()
    )


def unique(payloads):
    """The payloads, none with a name another has (whatever the case of its letters)."""
    taken, made = set(), []
    for payload in payloads:
        name, number = payload.name, 1
        while name.lower() in taken:
            number += 1
            stem, dot, ending = payload.name.rpartition(".")
            name = f"{stem}-{number}.{ending}" if dot else f"{payload.name}-{number}"
        taken.add(name.lower())
        made.append(Payload(name, payload.sha256, payload.size_bytes, payload.open))
    return made


def _member(name, made_at):
    member = zipfile.ZipInfo(name, made_at.timetuple()[:6])
    member.compress_type = (
        zipfile.ZIP_STORED if name.lower().endswith(_STORED) else zipfile.ZIP_DEFLATED
    )
    member.external_attr = 0o644 << 16
    return member


def _escaped(name):
    """RFC 8493, 2.1.3: line ends and the percent sign in a path are percent-encoded."""
    return name.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _one_line(text):
    return " ".join(text.split())
