"""Do large and broken uploads stay out of memory and off the disk, on a real server too?"""

import io
import os
import socket
import sys
import time
from contextlib import contextmanager

import pytest
from django.core.files.storage import storages

from casework.audit.models import Entry
from casework.evidence import services
from casework.evidence.incoming import STALE_S, sweep_incoming
from casework.evidence.models import Derived, Evidence
from casework.evidence.services import Slot
from casework.previews.models import Preview
from tests.casework.evidence import making


class LargeBody(io.RawIOBase):
    """The body of a request with one large binary STL, made while it is read."""

    def __init__(self, triangles):
        self.head = (
            b'--XyZ\r\nContent-Disposition: form-data; name="files"; filename="big.stl"\r\n'
            b"Content-Type: application/octet-stream\r\n\r\n"
            + bytes(80)
            + triangles.to_bytes(4, "little")
        )
        self.tail = b"\r\n--XyZ--\r\n"
        self.length = len(self.head) + 50 * triangles + len(self.tail)
        self.place = 0

    def read(self, size=-1):
        size = self.length - self.place if size < 0 else min(size, self.length - self.place)
        start, self.place = self.place, self.place + size
        edge = self.length - len(self.tail)
        piece = self.head[start : start + size]
        middle = min(start + size, edge) - max(start, len(self.head))
        piece += bytes(max(0, middle))
        return piece + self.tail[max(0, start - edge) : max(0, start + size - edge)]


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="reads the process's memory from /proc")
def test_a_file_of_200_mb_stays_out_of_memory(case, dentist, sign_in, send):
    send({"warm up.stl": making.arch_stl()})
    client = sign_in(dentist)
    body = LargeBody(triangles=200 * 10**6 // 50)
    # Anonymous memory, as pages of the file that was just written may be dropped at any time.
    before = anonymous_mib()
    with watched() as seen:
        response = client.generic(
            "POST",
            f"/api/cases/{case.code}/files/",
            b"x",
            CONTENT_TYPE="multipart/form-data; boundary=XyZ",
            CONTENT_LENGTH=str(body.length),
            **{"wsgi.input": body},
        )

    assert response.status_code == 201
    assert Evidence.objects.get(number=2).size_bytes == 84 + 200 * 10**6
    assert max(seen) - before < 64


def anonymous_mib():
    with open("/proc/self/status") as status:
        for line in status:
            if line.startswith("RssAnon:"):
                return int(line.split()[1]) / 1024
    raise AssertionError("no RssAnon in /proc/self/status")


@contextmanager
def watched():
    """Looks at the process's memory every few milliseconds while the block runs."""
    import threading

    seen, ends = [anonymous_mib()], threading.Event()

    def look():
        while not ends.wait(0.005):
            seen.append(anonymous_mib())

    watcher = threading.Thread(target=look)
    watcher.start()
    try:
        yield seen
    finally:
        ends.set()
        watcher.join()


@pytest.mark.django_db(transaction=True)
def test_a36_a_connection_that_closes_in_the_middle_leaves_nothing(
    live_server, case, dentist, sign_in, is_as_before, send
):
    client = sign_in(dentist)
    client.get(f"/cases/{case.code}/files/add/")
    cookies = "; ".join(f"{name}={morsel.value}" for name, morsel in client.cookies.items())
    body = (
        b'--XyZ\r\nContent-Disposition: form-data; name="files"; filename="scan.stl"\r\n'
        b"Content-Type: application/octet-stream\r\n\r\n" + making.arch_stl()
    )
    host, port = live_server.thread.host, live_server.thread.port
    head = (
        f"POST /api/cases/{case.code}/files/ HTTP/1.1\r\nHost: {host}:{port}\r\n"
        f"Cookie: {cookies}\r\nX-CSRFToken: {client.cookies['csrftoken'].value}\r\n"
        f"Content-Type: multipart/form-data; boundary=XyZ\r\n"
        f"Content-Length: {len(body) + 11}\r\n\r\n"
    )

    with socket.create_connection((host, port), timeout=10) as connection:
        connection.sendall(head.encode() + body[:-300])
        time.sleep(0.2)
    wait_for(lambda: is_as_before(refused=0))

    assert send({"scan.stl": making.arch_stl()}).status_code == 201
    assert Entry.objects.filter(kind="evidence.received").count() == 1


def wait_for(is_so, seconds=5):
    ends = time.monotonic() + seconds
    while not is_so():
        assert time.monotonic() < ends
        time.sleep(0.05)
    time.sleep(0.2)
    assert is_so()


def test_what_a_killed_process_left_is_swept(settings):
    folder = settings.FILE_UPLOAD_TEMP_DIR
    folder.mkdir(parents=True)
    old, fresh, other = folder / "in-old", folder / "in-fresh", folder / "kept.txt"
    for path in (old, fresh, other):
        path.write_bytes(b"x")
    long_ago = time.time() - STALE_S - 60
    os.utime(old, (long_ago, long_ago))
    os.utime(other, (long_ago, long_ago))

    sweep_incoming()

    assert sorted(path.name for path in folder.iterdir()) == ["in-fresh", "kept.txt"]


@pytest.fixture
def object_store(settings, monkeypatch):
    """An S3-compatible store of the library moto, in this process."""
    import boto3
    from moto import mock_aws

    for name in ("AWS_ACCESS_KEY_ID", "AWS_SECRET_ACCESS_KEY"):
        monkeypatch.setenv(name, "testing")
    with mock_aws():
        store = boto3.client("s3", region_name="us-east-1")
        store.create_bucket(Bucket="evidence")
        settings.STORAGES = settings.STORAGES | {
            "default": {
                "BACKEND": "storages.backends.s3.S3Storage",
                "OPTIONS": {
                    "bucket_name": "evidence",
                    "region_name": "us-east-1",
                    "file_overwrite": False,
                    "default_acl": None,
                },
            }
        }
        storages._storages.clear()
        yield store


@pytest.mark.slow
def test_an_object_store_serves_as_well(
    object_store, case, dentist, sign_in, run_jobs, stored, django_capture_on_commit_callbacks
):
    data = making.arch_stl(header=b"Testperson")
    services.receive_file(
        case,
        by=dentist,
        stream=io.BytesIO(data),
        name="upper.stl",
        slot=Slot(role="working_arch", jaw="upper"),
    )
    run_jobs()

    keys = [row["Key"] for row in object_store.list_objects_v2(Bucket="evidence")["Contents"]]
    evidence = Evidence.objects.get()
    response = sign_in(dentist).get(f"/cases/{case.code}/files/1/download/")
    assert evidence.state == "readable"
    assert b"".join(response.streaming_content) == data
    copy, shown = Derived.objects.get().storage_key, Preview.objects.get().storage_key
    assert set(keys) == {evidence.storage_key, copy, shown}
    assert stored() == []

    with django_capture_on_commit_callbacks(execute=True):
        services.erase_personal(evidence)
    left = object_store.list_objects_v2(Bucket="evidence")["Contents"]
    assert {row["Key"] for row in left} == {copy, shown}
