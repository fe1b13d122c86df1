"""What does `manage.py test` run, in which order, and when does it refuse to start?

Without arguments: the linter, the comparison of models and migrations, all tests on SQLite,
and, where DATABASE_URL or REDIS_URL name services, the tests that need them once more on
those. With arguments for pytest only the tests they choose. Runs inside .venv.
"""

import os
import shlex
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
SERVICES = ("DATABASE_URL", "REDIS_URL")
# What an operator's or a developer's shell may hold and a test must not see.
SETTINGS = ("SECRET_KEY", "S3_", "EMAIL_", "CASEWORK_", "DJANGO_")
FOR_TESTS = ("CASEWORK_BROWSER", "CASEWORK_REQUIRE_BROWSER")
NO_TESTS_CHOSEN = 5  # pytest's exit code
# Two processes halve the time on two cores; tests of one xdist group stay in one process.
SIDE_BY_SIDE = ("-n", "2", "--dist", "loadgroup")


def clean(environ, services=()):
    """The environment of a pass: the named services, no other setting of this installation."""
    return {
        name: value
        for name, value in environ.items()
        if name in services
        or name in FOR_TESTS
        or (name not in SERVICES and not name.startswith(SETTINGS))
    }


def named_services(environ):
    return tuple(name for name in SERVICES if environ.get(name, "").strip())


def marked(services):
    """A real database is for every test that touches one; a broker alone for the workers."""
    return "database or worker" if "DATABASE_URL" in services else "worker"


def split_marks(arguments):
    """The -m expression of a developer, to be joined with the pass's own, and the rest."""
    rest, expression, words = [], "", iter(arguments)
    for word in words:
        if word == "-m":
            expression = next(words, "")
        elif word.startswith("-m") and not word.startswith("--"):
            expression = word[2:].lstrip("=")
        else:
            rest.append(word)
    return expression, rest


def pytest_command(arguments, services=()):
    """All tests without services, else those that need them."""
    expression, rest = split_marks(arguments)
    if services:
        own = marked(services)
        expression = f"({own}) and ({expression})" if expression else own
    side_by_side = () if arguments else SIDE_BY_SIDE
    chosen = ("-m", expression) if expression else ()
    return [sys.executable, "-m", "pytest", *side_by_side, *chosen, *rest]


def steps(arguments, services):
    """(title, command, services of the pass) in order."""
    manage = [sys.executable, str(ROOT / "manage.py")]
    listed = []
    if not arguments:
        listed += [
            ("Linter", [sys.executable, "-m", "ruff", "check", "."], ()),
            ("Migrations", [*manage, "makemigrations", "--check", "--dry-run"], ()),
        ]
    listed.append(("Tests on SQLite", pytest_command(arguments), ()))
    if services:
        title = "Tests on the services of " + " and ".join(services)
        listed.append((title, pytest_command(arguments, services), services))
    return listed


def verdict(code, arguments, services):
    """A developer's choice may hold no test that needs the services; the gate's may not."""
    return 0 if code == NO_TESTS_CHOSEN and arguments and services else code


# What the environment names must answer


def objection_to_database(url):
    import psycopg

    try:
        with psycopg.connect(url, connect_timeout=5) as connection:
            may = connection.execute(
                "SELECT rolcreatedb OR rolsuper FROM pg_roles WHERE rolname = current_user"
            ).fetchone()[0]
    except psycopg.Error as error:
        return (
            f"The database named by DATABASE_URL does not answer: {str(error).strip()}. "
            "Start it or correct the address, or unset DATABASE_URL to test on SQLite alone."
        )
    if not may:
        return (
            "The role in DATABASE_URL may not create databases, which the tests need for a "
            "database of their own. Give it the right: ALTER ROLE name CREATEDB."
        )
    return None


def objection_to_broker(url):
    import redis

    try:
        with redis.Redis.from_url(url, socket_connect_timeout=5, socket_timeout=5) as broker:
            broker.ping()
    except (redis.RedisError, ValueError) as error:
        return (
            f"The broker named by REDIS_URL does not answer: {error}. Start it or correct the "
            "address, or unset REDIS_URL to test with the embedded one alone."
        )
    return None


def objection_to_browser(environ):
    required = environ.get("CASEWORK_REQUIRE_BROWSER", "").lower() not in {"", "0", "no"}
    if not required or environ.get("CASEWORK_BROWSER"):
        return None
    return (
        "CASEWORK_REQUIRE_BROWSER is set but there is no browser. Install Chromium, or name "
        "one in CASEWORK_BROWSER, or unset CASEWORK_REQUIRE_BROWSER to skip those tests."
    )


def objections(environ):
    found = [objection_to_browser(environ)]
    if "DATABASE_URL" in named_services(environ):
        found.append(objection_to_database(environ["DATABASE_URL"].strip()))
    if "REDIS_URL" in named_services(environ):
        found.append(objection_to_broker(environ["REDIS_URL"].strip()))
    return [sentence for sentence in found if sentence]


def run_step(title, command, environ):
    shown = shlex.join(["python", *command[1:]])
    print(f"\n== {title}: {shown}", flush=True)
    # A folder of its own: tests leave a running service's data alone.
    with tempfile.TemporaryDirectory(prefix="casework-test-") as data:
        return subprocess.run(
            command, cwd=ROOT, env=environ | {"CASEWORK_DATA": data}
        ).returncode


def run(arguments):
    """All steps are run even when one fails; the exit code is the worst."""
    if refused := objections(os.environ):
        print("\n".join(refused), file=sys.stderr)
        return 2
    if not os.environ.get("CASEWORK_BROWSER"):
        print("There is no browser here: tests that need one are skipped.", flush=True)
    services, failed = named_services(os.environ), {}
    for title, command, own in steps(arguments, services):
        code = run_step(title, command, clean(os.environ, own))
        if code := verdict(code, arguments, own):
            failed[title] = code
    if failed:
        print("\n== Failed: " + "; ".join(f"{t} (exit {c})" for t, c in failed.items()))
    return max(map(abs, failed.values()), default=0)
