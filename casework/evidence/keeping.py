"""Where are the bytes of a file kept: private, apart for each case, without an address?

Each file lies under party, case and digest with a random ending of its own, so that no two
rows - of one case or of two - ever share bytes and one can be erased without the other. The
storage has no address; on disk a file is moved in, into an object store it is streamed.
"""

import hashlib
import secrets
import shutil
import tempfile
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings
from django.core.files import File
from django.core.files.storage import default_storage

CHUNK_BYTES = 2**16


class _Moved(File):
    """A file on disk that the storage may take over instead of copying it."""

    def __init__(self, path):
        super().__init__(open(path, "rb"), name=path.name)
        self.path = path

    def temporary_file_path(self):
        return str(self.path)


def keep(path, *, party_id, code, sha256, part="received"):
    """Put the file at `path` into storage and return its key; the file may be gone then."""
    key = f"{party_id}/{code}/{part}/{sha256}-{secrets.token_hex(4)}"
    with _Moved(Path(path)) as content:
        return default_storage.save(key, content, max_length=200)


def keep_bytes(data, **where):
    """The same for bytes that were computed."""
    folder = Path(settings.FILE_UPLOAD_TEMP_DIR)
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    with tempfile.NamedTemporaryFile(prefix="in-", dir=folder, delete=False) as file:
        file.write(data)
    try:
        return keep(file.name, **where)
    finally:
        Path(file.name).unlink(missing_ok=True)


def opened(key):
    """The stored file, open for reading."""
    return default_storage.open(key, "rb")


def digest_of_stored(key):
    """SHA-256 of what is stored under the key by now, or "missing"."""
    if not key or not default_storage.exists(key):
        return "missing"
    with opened(key) as stored:
        return hashlib.file_digest(stored, "sha256").hexdigest()


def forget(key):
    """Delete stored bytes; nothing happens where they are gone."""
    if key:
        default_storage.delete(key)


@contextmanager
def kept(path, **where):
    """Keep a file as `keep` does while the block writes its row; forgotten where it fails."""
    key = keep(path, **where)
    try:
        yield key
    except BaseException:
        forget(key)
        raise


@contextmanager
def local_path(key):
    """A path at which the stored bytes can be read while the block runs."""
    try:
        path = Path(default_storage.path(key))
    except NotImplementedError:
        path = None
    if path is not None:
        yield path
        return
    folder = Path(settings.FILE_UPLOAD_TEMP_DIR)
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    with tempfile.NamedTemporaryFile(prefix="in-", dir=folder) as copy:
        with opened(key) as stored:
            shutil.copyfileobj(stored, copy, CHUNK_BYTES)
        copy.flush()
        yield Path(copy.name)
