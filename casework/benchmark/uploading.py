"""How much memory does a large upload take?"""

import io
import threading
import time

import numpy as np
from django.test import RequestFactory

from casework.benchmark import places
from casework.benchmark.cast import make_cast, make_database, open_case
from casework.demo.meshes.writing import STL_FACE
from casework.evidence.models import Evidence
from casework.evidence.uploading import prepare, take_files

TARGET_MIB = 64
BOUNDARY = "benchmark-boundary"
FACET_BYTES = 50


class Body(io.RawIOBase):
    """A request's body with one STL of so many facets, made while it is read."""

    def __init__(self, facets):
        self.facets = facets
        self.size = 0
        self._parts = self._pieces()
        self._left = b""
        head = 84 + facets * FACET_BYTES
        self.size = len(self._before()) + head + len(self._after())

    def _before(self):
        return (
            f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="files";'
            ' filename="lower.stl"\r\nContent-Type: application/octet-stream\r\n\r\n'
        ).encode()

    def _after(self):
        return f"\r\n--{BOUNDARY}--\r\n".encode()

    def _pieces(self):
        yield self._before()
        yield b"synthetic, invented".ljust(80, b"\0") + self.facets.to_bytes(4, "little")
        block, left = 20_000, self.facets
        rows = np.zeros(block, dtype=STL_FACE)
        rows["corners"] = np.random.default_rng(1).uniform(0, 60, (block, 3, 3))
        seed = rows.tobytes()
        while left:
            take = min(block, left)
            yield seed[: take * FACET_BYTES]
            left -= take
        yield self._after()

    def readable(self):
        return True

    def read(self, size=-1):
        while len(self._left) < max(size, 1) and (piece := next(self._parts, b"")):
            self._left += piece
        given, self._left = self._left[:size], self._left[size:]
        return given


def measure(megabytes, say):
    """Send one file through the code that receives uploads; True where memory stays low."""
    make_database()
    cast = make_cast()
    dentist = cast.members["practice", "dentist"]
    case = open_case(cast)
    # A small one first: what is loaded once is not the upload's.
    _send(case, dentist, 1000)
    idle = places.resident_mib()
    if idle is None:
        say("This system does not tell how much memory a process holds.")
        return False
    facets = int(megabytes * 1_000_000 - 84) // FACET_BYTES

    places.forget_peak()
    began = time.perf_counter()
    with _Sampling() as sampled:
        size = _send(case, dentist, facets)
    took = time.perf_counter() - began

    above = max(places.peak_mib(), sampled.most) - idle
    stored = Evidence.objects.order_by("-pk").first()
    say(f"{size / 1e6:.0f} MB received, hashed, stored in {took:.1f} s")
    say(f"  idle   {idle:6.1f} MiB")
    say(f"  above  {above:6.1f} MiB at most  (wanted: less than {TARGET_MIB})")
    say(f"  file   {stored.number}, {stored.size_bytes:,} bytes, SHA-256 {stored.sha256[:16]}…")
    return above < TARGET_MIB and stored.size_bytes == 84 + facets * FACET_BYTES


def _send(case, member, facets):
    body = Body(facets)
    request = RequestFactory().generic(
        "POST",
        "/",
        data="replaced by the stream below",
        content_type=f"multipart/form-data; boundary={BOUNDARY}",
        **{"CONTENT_LENGTH": str(body.size), "wsgi.input": body},
    )
    request.member = member
    handler = prepare(request)
    try:
        (outcome,) = take_files(case, request)
    finally:
        handler.discard()
    if not outcome.is_taken:
        raise RuntimeError("; ".join(outcome.sentences))
    return body.size


class _Sampling:
    """Looks at this process's memory while something runs, beside the system's own peak."""

    def __enter__(self):
        self.most, self._over = 0.0, threading.Event()
        self._thread = threading.Thread(target=self._look, daemon=True)
        self._thread.start()
        return self

    def __exit__(self, *exc_info):
        self._over.set()
        self._thread.join()

    def _look(self):
        while not self._over.wait(0.01):
            self.most = max(self.most, places.resident_mib())
