"""Where can a benchmark write: a folder and a database of its own, gone when it ends."""

import os
import tempfile
from contextlib import contextmanager
from urllib.parse import urlsplit, urlunsplit

ENDING = "_benchmark"


class PlaceRefused(Exception):
    """The database server does not let a database be made."""


@contextmanager
def own_place(environ):
    """The environment for a process that shall not see this installation's data."""
    with tempfile.TemporaryDirectory(prefix="casework-benchmark-") as folder:
        own = {name: value for name, value in environ.items() if name != "REDIS_URL"}
        own |= {"CASEWORK_DATA": folder, "SECRET_KEY": "only-for-the-benchmark"}
        url = environ.get("DATABASE_URL", "").strip()
        if not url:
            yield own
            return
        own["DATABASE_URL"] = own_url(url)
        name = urlsplit(own["DATABASE_URL"]).path.strip("/")
        _execute(url, f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)')
        _execute(url, f'CREATE DATABASE "{name}"')
        try:
            yield own
        finally:
            _execute(url, f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)')


def own_url(url):
    """The same server, and a database named after the installation's."""
    parts = urlsplit(url)
    return urlunsplit(parts._replace(path=f"{parts.path.rstrip('/')}{ENDING}"))


def _execute(url, statement):
    import psycopg

    # Any database of the server will do to make and drop another from.
    door = urlunsplit(urlsplit(url)._replace(path="/postgres"))
    try:
        with psycopg.connect(door, autocommit=True, connect_timeout=5) as connection:
            connection.execute(statement)
    except psycopg.Error as problem:
        raise PlaceRefused(
            f"No database for the benchmark on the server of DATABASE_URL: {problem}".strip()
        ) from None


def resident_mib():
    """Memory this process holds now, in MiB; None where the system does not tell."""
    return _status_mib("VmRSS")


def peak_mib():
    """The most this process has held since `forget_peak`, in MiB."""
    return _status_mib("VmHWM")


def forget_peak():
    """Begin to count the peak anew (Linux: proc(5), clear_refs)."""
    with open("/proc/self/clear_refs", "w") as refs:
        refs.write("5")


def _status_mib(name):
    if not os.path.exists("/proc/self/status"):
        return None
    with open("/proc/self/status") as status:
        line = next(line for line in status if line.startswith(f"{name}:"))
    return int(line.split()[1]) / 1024
