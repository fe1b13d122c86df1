"""How does a file come in: streamed to disk while it is hashed, gone unless it is kept?

Nothing is held in memory but one chunk. A file that is not kept - broken off, too large,
refused - is deleted when it is closed; what a killed process leaves behind in the folder for
incoming files is swept by the next upload.
"""

import hashlib
import os
import tempfile
import time
from pathlib import Path

from django.conf import settings
from django.core.files.uploadhandler import FileUploadHandler, SkipFile

CHUNK_BYTES = 2**16
# Whatever lies longer than this among incoming files belongs to no upload any more.
STALE_S = 24 * 3600


class TooLarge(Exception):
    """More bytes came than may."""


class Incoming:
    """A file on its way in: a path, its digest, its size. `close` deletes it."""

    def __init__(self, name, *, most=None):
        folder = Path(settings.FILE_UPLOAD_TEMP_DIR)
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        handle, path = tempfile.mkstemp(prefix="in-", dir=folder)
        self.name = name
        self.path = Path(path)
        self.size = 0
        self.most = most
        self._hash = hashlib.sha256()
        self._file = os.fdopen(handle, "wb")

    @property
    def sha256(self):
        return self._hash.hexdigest()

    @property
    def is_too_large(self):
        return self.most is not None and self.size > self.most

    def write(self, chunk):
        self.size += len(chunk)
        if self.is_too_large:
            raise TooLarge
        self._hash.update(chunk)
        self._file.write(chunk)

    def end(self):
        """No more bytes come; what came is on disk before anything says that it is kept."""
        self._file.flush()
        os.fsync(self._file.fileno())
        self._file.close()

    def close(self):
        self._file.close()
        self.path.unlink(missing_ok=True)

    def __enter__(self):
        return self

    def __exit__(self, *exception):
        self.close()


def incoming_from(stream, name, *, most=None):
    """Take a whole stream (anything with `read`) in; deletes what came where it breaks off."""
    incoming = Incoming(name, most=most)
    try:
        while chunk := stream.read(CHUNK_BYTES):
            incoming.write(chunk)
    except BaseException:
        incoming.close()
        raise
    incoming.end()
    return incoming


class IncomingHandler(FileUploadHandler):
    """Streams every file of a request to disk. `refused` has the names of those too large."""

    chunk_size = CHUNK_BYTES

    def __init__(self, request=None, *, most):
        super().__init__(request)
        self.most = most
        self.refused = []
        self.is_broken_off = False
        self.file = None
        self.begun = []

    def new_file(self, *args, **kwargs):
        super().new_file(*args, **kwargs)
        self.file = Incoming(self.file_name, most=self.most)
        self.begun.append(self.file)

    def receive_data_chunk(self, raw_data, start):
        try:
            self.file.write(raw_data)
        except TooLarge:
            self.file.close()
            self.refused.append(self.file_name)
            raise SkipFile from None

    def file_complete(self, file_size):
        self.file.end()
        done, self.file = self.file, None
        return done

    def upload_interrupted(self):
        # Also called where the last file was skipped as too large: that one is refused already.
        if not self.file.is_too_large:
            self.is_broken_off = True
            self.discard()

    def discard(self):
        """Delete whatever came and was not kept."""
        for incoming in self.begun:
            incoming.close()


def sweep_incoming(*, at=None):
    """Delete what a process that was killed left among the incoming files."""
    folder = Path(settings.FILE_UPLOAD_TEMP_DIR)
    if not folder.is_dir():
        return
    oldest = (at or time.time()) - STALE_S
    for path in folder.glob("in-*"):
        try:
            if path.stat().st_mtime < oldest:
                path.unlink()
        except FileNotFoundError:
            continue
