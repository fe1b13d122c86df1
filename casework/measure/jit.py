"""How are the inner loops compiled, and what if nothing may be written to disk?

Compiled code is kept in a folder named after the digest of all sources of this package: a loop
that calls one of another file is compiled into it, and numba would not notice a change there.
The folder lies where NUMBA_CACHE_DIR says, else beside the sources, else in the user's cache.
Where none of these can be written, loops are compiled anew in each process: a shared temporary
folder would let another user of the machine put code into it.
"""

import hashlib
import tempfile
import threading
from pathlib import Path

import numba


def cache_folder(sources: Path) -> Path | None:
    """Return a folder for the compiled loops of these sources, or None where none can be."""
    digest = hashlib.sha256()
    for path in sorted(sources.glob("*.py")):
        digest.update(path.name.encode() + b"\0" + path.read_bytes())
    for base in _places(sources):
        folder = base / f"loops-{digest.hexdigest()[:16]}"
        try:
            folder.mkdir(parents=True, exist_ok=True)
            with tempfile.TemporaryFile(dir=folder):
                return folder
        except OSError:
            continue
    return None


def _places(sources):
    if numba.config.CACHE_DIR:
        yield Path(numba.config.CACHE_DIR)
    yield sources / "__pycache__"
    try:
        yield Path.home() / ".cache" / "casework"
    except RuntimeError:  # a user without a home
        return


FOLDER = cache_folder(Path(__file__).parent)
# The library reads the folder from one setting of the whole process, and two threads may bring
# in two files of loops at the same time.
_SETTING = threading.Lock()


def jit(function):
    """Compile a function on its first call: serial, without the interpreter lock."""
    plain = {"nogil": True, "error_model": "numpy"}
    with _SETTING:
        before = numba.config.CACHE_DIR
        try:
            numba.config.CACHE_DIR = str(FOLDER or "")
            return numba.njit(cache=FOLDER is not None, **plain)(function)
        except RuntimeError:
            return numba.njit(**plain)(function)
        finally:
            numba.config.CACHE_DIR = before
