"""How are the inner loops compiled, and what if nothing may be written to disk?

Compiled code is kept in a folder named after the digest of the file it stands in and of those
of this package which that file brings in: a loop that calls one of another file is compiled
into it, and numba would not notice a change there. The folder lies where NUMBA_CACHE_DIR says,
else beside the sources, else in the user's cache. Where none of these can be written, loops are
compiled anew in each process: a shared temporary folder would let another user of the machine
put code into it.
"""

import hashlib
import re
import tempfile
import threading
from functools import cache
from pathlib import Path

import numba

PACKAGE = Path(__file__).parent
_BROUGHT_IN = re.compile(rb"^\s*(?:from|import) casework\.measure\.([\w.]+)", re.MULTILINE)


def cache_folder(source: Path, package: Path = PACKAGE) -> Path | None:
    """Return a folder for the compiled loops of one file, or None where none can be."""
    digest = hashlib.sha256()
    for path in sorted(_with_what_it_brings_in(source, package)):
        digest.update(path.name.encode() + b"\0" + path.read_bytes())
    for base in _places(source.parent):
        folder = base / f"loops-{digest.hexdigest()[:16]}"
        try:
            folder.mkdir(parents=True, exist_ok=True)
            with tempfile.TemporaryFile(dir=folder):
                return folder
        except OSError:
            continue
    return None


def _with_what_it_brings_in(source, package):
    """The file itself and every file of the package that it imports, however far away."""
    found, waiting = set(), [source]
    while waiting:
        path = waiting.pop()
        if path in found:
            continue
        found.add(path)
        for name in _BROUGHT_IN.findall(path.read_bytes()):
            module = package.joinpath(*name.decode().split("."))
            for brought in (module.with_suffix(".py"), module / "__init__.py"):
                if brought.exists():
                    waiting.append(brought)
    return found


def _places(beside):
    if numba.config.CACHE_DIR:
        yield Path(numba.config.CACHE_DIR)
    yield beside / "__pycache__"
    try:
        yield Path.home() / ".cache" / "casework"
    except RuntimeError:  # a user without a home
        return


_folder_of = cache(cache_folder)
# The library reads the folder from one setting of the whole process, and two threads may bring
# in two files of loops at the same time.
_SETTING = threading.Lock()


def jit(function):
    """Compile a function on its first call: serial, without the interpreter lock."""
    plain = {"nogil": True, "error_model": "numpy"}
    with _SETTING:
        folder = _folder_of(Path(function.__code__.co_filename))
        before = numba.config.CACHE_DIR
        try:
            numba.config.CACHE_DIR = str(folder or "")
            return numba.njit(cache=folder is not None, **plain)(function)
        except RuntimeError:
            return numba.njit(**plain)(function)
        finally:
            numba.config.CACHE_DIR = before
