"""What must be set up before a command of Casework can run, and how is it set up?

Stands on the standard library alone. The stamp in .venv tells whether the packages are there;
no import is tried, because an import that works says nothing about versions or hashes.
Start from `main`: it prepares, starts again inside .venv, and there hands over to the tests'
runner or to Django.
"""

import contextlib
import hashlib
import json
import os
import sys
from pathlib import Path

from casework import bundle, debian, machine

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
LOCAL = ROOT / ".local"
REQUIREMENTS = ROOT / "requirements"
STAMP = VENV / "casework-stamp.json"

READY, PACKAGES, ENVIRONMENT = "ready", "packages", "environment"
PYTHON = VENV / "bin" / "python"


def say(sentence):
    """Progress goes to the error stream: the output of a command may be piped on."""
    print(sentence, file=sys.stderr, flush=True)


# What is needed: pure decisions


def wanted_list(arguments):
    """The tests need the test list; every other command needs the run list."""
    return "test" if arguments[:1] == ["test"] else "run"


def digest_of(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def decide(stamp, want, digests, interpreter, folder):
    """Whether the environment is READY, lacks PACKAGES, or the ENVIRONMENT must be made anew.

    `interpreter` is the real path of the environment's Python, "" where there is none. A stamp
    of another folder or interpreter means that the project or the system's Python has moved.
    An environment without a stamp is kept and its packages are installed again.
    """
    if not interpreter:
        return ENVIRONMENT
    if not stamp:
        return PACKAGES
    if stamp.get("folder") != folder or stamp.get("interpreter") != interpreter:
        return ENVIRONMENT
    return READY if stamp.get(want) == digests[want] else PACKAGES


def list_to_install(stamp, want):
    """An environment that has had the test list keeps it, so that the two do not alternate."""
    return "test" if want == "test" or (stamp or {}).get("test") else "run"


def new_stamp(installed, digests, interpreter, folder):
    """The test list contains the run list, so it satisfies both."""
    lists = ("run", "test") if installed == "test" else ("run",)
    return {"folder": folder, "interpreter": interpreter} | {n: digests[n] for n in lists}


def fetch_uv_command(python, requirements):
    return [
        *(str(python), "-m", "pip", "install", "-q", "--disable-pip-version-check"),
        *("--no-input", "--require-hashes", "--only-binary", ":all:"),
        *("-r", str(requirements / "uv.txt")),
    ]


def install_commands(python, requirements, name):
    """Ways to install a hashed list, the first that works is taken.

    uv has root certificates of its own and refuses an index behind a private authority unless
    told to use the system's; a system may have none; pip is slower and works without uv.
    """
    listed = ["--require-hashes", "-r", str(requirements / f"{name}.txt")]
    uv = [str(Path(python).with_name("uv")), "pip", "install", "-q", "--python", str(python)]
    pip = [str(python), "-m", "pip", "install", "-q", "--disable-pip-version-check"]
    return (
        [*uv, "--system-certs", *listed],
        [*uv, *listed],
        [*pip, "--no-input", *listed],
    )


# The state of this checkout


def read_stamp():
    try:
        stamp = json.loads(STAMP.read_text())
    except (OSError, ValueError):
        return None
    return stamp if isinstance(stamp, dict) else None


def list_digests():
    try:
        return {n: digest_of((REQUIREMENTS / f"{n}.txt").read_bytes()) for n in ("run", "test")}
    except OSError as error:
        raise SystemExit(
            f"{error.filename} cannot be read. It belongs to the project: check it out again."
        ) from None


def interpreter_of_venv():
    """The real path of its Python; "" if it is not there or was left half made, without pip."""
    has_pip = any(VENV.glob("lib/python3.*/site-packages/pip/__main__.py"))
    return os.path.realpath(PYTHON) if has_pip and PYTHON.exists() else ""


def state(want):
    return decide(read_stamp(), want, list_digests(), interpreter_of_venv(), str(VENV))


# Setting up


@contextlib.contextmanager
def one_at_a_time():
    """A second start waits; the lock ends with its process, however that ends."""
    LOCAL.mkdir(exist_ok=True)
    with open(LOCAL / "set-up.lock", "w") as lock:
        import fcntl

        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            say("Another start is setting up; waiting for it ...")
            fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def make_environment():
    say(f"Making the virtual environment {VENV} ...")
    # The base interpreter, because the environment cannot replace itself.
    command = [getattr(sys, "_base_executable", sys.executable), "-m", "venv", "--clear", VENV]
    error = debian.tried(command)
    if error and "ensurepip" in error and debian.is_root_on_debian():
        debian.tried(debian.apt_install_command(["python3-venv"]))
        error = debian.tried(command)
    if error:
        raise SystemExit(
            f"{error}\n\nThe virtual environment {VENV} could not be made. On Debian it needs "
            "the package python3-venv (apt-get install python3-venv); then start again."
        )


def errors_of_installing(name):
    """What every way to install a list said, none where one of them worked."""
    environ = {k: v for k, v in os.environ.items() if k not in {"VIRTUAL_ENV", "PYTHONPATH"}}
    error = debian.tried(fetch_uv_command(PYTHON, REQUIREMENTS), environ=environ)
    errors = [error] if error else []
    for command in install_commands(PYTHON, REQUIREMENTS, name):
        error = debian.tried(command, environ=environ)
        if error is None:
            return []
        errors.append(error)
    return errors


def bring_node():
    """The folder of a Node.js that is installed beside the packages, None where it is not."""
    return None if errors_of_installing("web") else VENV / "bin"


def install_packages(name):
    say(f"Installing the Python packages of requirements/{name}.txt ...")
    STAMP.unlink(missing_ok=True)
    errors = errors_of_installing(name)
    if not errors:
        return
    raise SystemExit(
        "\n\n".join(dict.fromkeys(errors))
        + f"\n\nThe packages of requirements/{name}.txt could not be installed, neither with "
        "uv nor with pip; what each said is above. Check the connection to the package index "
        f"and the free space on the disk, then start again; if it fails again, delete {VENV}."
    )


def set_up(want):
    """Brings .venv to the wanted list; a second start that waited finds it done."""
    what = state(want)
    if what == READY:
        return
    name = list_to_install(read_stamp(), want)
    if what == ENVIRONMENT:
        make_environment()
        debian.write_fonts_conf(LOCAL)
    install_packages(name)
    stamp = new_stamp(name, list_digests(), interpreter_of_venv(), str(VENV))
    written = STAMP.with_suffix(f".{os.getpid()}")
    written.write_text(json.dumps(stamp, indent=1))
    os.replace(written, STAMP)


def prepare(want):
    """Set up what is missing; on a warm start a few file look-ups and nothing else."""
    again = want == "test"
    parts = machine.parts_for(want)
    lacking = machine.not_tried_yet(machine.missing(parts, LOCAL), LOCAL, again=again)
    if state(want) == READY and not lacking and not bundle.is_wanted(again=again):
        return
    with one_at_a_time():
        set_up(want)
        debian.bring(machine.missing(lacking, LOCAL), LOCAL, say)
        if bundle.is_wanted(again=again):
            bundle.build(say, bring_node)


def additions(environ, want):
    """Environment entries a command needs and this process does not have yet."""
    wanted = machine.environment(LOCAL, environ)
    if want == "test":
        wanted["CASEWORK_BROWSER"] = machine.browser(LOCAL, environ) or ""
    return {name: value for name, value in wanted.items() if environ.get(name) != value}


def main(argv):
    if os.name != "posix":
        raise SystemExit(
            "Casework runs on Linux and macOS. On Windows start it inside the Windows "
            "Subsystem for Linux."
        )
    want = wanted_list(argv[1:])
    prepare(want)
    added = additions(os.environ, want)
    if Path(sys.prefix) != VENV or added:
        command = [str(PYTHON), str(ROOT / "manage.py"), *argv[1:]]
        sys.stdout.flush()
        os.execve(PYTHON, command, os.environ | added)
    if want == "test":
        from casework import gate

        return gate.run(argv[2:])
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "casework.settings")
    if argv[1:2] == ["demo"]:
        # The invented scenario never mixes with an installation's own data.
        os.environ.setdefault("CASEWORK_DATA", str(ROOT / "var" / "demo"))
    from django.core.management import execute_from_command_line

    execute_from_command_line(argv)
    return 0
