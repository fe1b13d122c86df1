"""Does the set-up decide and build its command lines as a bare machine needs it?"""

import json
import os
import re
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from casework import launcher

ROOT = launcher.ROOT
DIGESTS = {"run": "r1", "test": "t1"}
HERE, PYTHON = "/srv/p/.venv", "/usr/bin/python3.11"


def stamp(**changes):
    return {"folder": HERE, "interpreter": PYTHON, **DIGESTS} | changes


def decide(kept, want, interpreter=PYTHON, folder=HERE):
    return launcher.decide(kept, want, DIGESTS, interpreter, folder)


# Which list, and is it there


@pytest.mark.parametrize(
    ("arguments", "want"),
    [
        ([], "run"),
        (["demo"], "run"),
        (["demo", "test"], "run"),
        (["test"], "test"),
        (["test", "-k", "demo"], "test"),
        (["testserver"], "run"),
    ],
)
def test_only_the_test_command_needs_the_test_list(arguments, want):
    assert launcher.wanted_list(arguments) == want


@pytest.mark.parametrize(
    ("kept", "want", "what"),
    [
        (stamp(), "run", launcher.READY),
        (stamp(), "test", launcher.READY),
        (stamp(run="r0"), "run", launcher.PACKAGES),
        (stamp(test="t0"), "run", launcher.READY),
        (stamp(test="t0"), "test", launcher.PACKAGES),
        ({"folder": HERE, "interpreter": PYTHON, "run": "r1"}, "run", launcher.READY),
        ({"folder": HERE, "interpreter": PYTHON, "run": "r1"}, "test", launcher.PACKAGES),
        (stamp(folder="/srv/moved/.venv"), "run", launcher.ENVIRONMENT),
        (stamp(interpreter="/usr/bin/python3.10"), "run", launcher.ENVIRONMENT),
        (None, "run", launcher.PACKAGES),
        ({}, "test", launcher.PACKAGES),
    ],
)
def test_the_stamp_decides_what_is_set_up(kept, want, what):
    assert decide(kept, want) == what


def test_an_environment_without_interpreter_is_made_whatever_its_stamp_says():
    assert decide(stamp(), "run", interpreter="") == launcher.ENVIRONMENT


def test_a_changed_list_changes_the_digest():
    assert launcher.digest_of(b"a==1\n") != launcher.digest_of(b"a==2\n")
    # NIST FIPS 180-2, appendix B.1: SHA-256 of "abc".
    assert launcher.digest_of(b"abc") == (
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    )


def test_after_the_test_list_both_lists_are_satisfied():
    kept = launcher.new_stamp("test", DIGESTS, PYTHON, HERE)

    assert decide(kept, "test") == decide(kept, "run") == launcher.READY


def test_after_the_run_list_the_tests_still_need_theirs():
    kept = launcher.new_stamp("run", DIGESTS, PYTHON, HERE)

    assert decide(kept, "run") == launcher.READY
    assert decide(kept, "test") == launcher.PACKAGES


def test_an_environment_that_had_the_test_list_keeps_it():
    assert launcher.list_to_install(stamp(run="r0"), "run") == "test"
    assert launcher.list_to_install({"run": "r0"}, "run") == "run"
    assert launcher.list_to_install(None, "run") == "run"
    assert launcher.list_to_install(None, "test") == "test"


@pytest.mark.parametrize("written", ["", "{", "[]", '"x"', "null"])
def test_a_damaged_stamp_is_no_stamp(tmp_path, monkeypatch, written):
    kept = tmp_path / "stamp.json"
    kept.write_text(written)
    monkeypatch.setattr(launcher, "STAMP", kept)

    assert launcher.read_stamp() is None


def test_a_missing_stamp_is_no_stamp(tmp_path, monkeypatch):
    monkeypatch.setattr(launcher, "STAMP", tmp_path / "stamp.json")

    assert launcher.read_stamp() is None


def test_a_missing_list_is_named(tmp_path, monkeypatch):
    monkeypatch.setattr(launcher, "REQUIREMENTS", tmp_path)

    with pytest.raises(SystemExit, match=r"run\.txt cannot be read"):
        launcher.list_digests()


def test_an_environment_left_without_pip_counts_as_none(tmp_path, monkeypatch):
    python = tmp_path / "bin" / "python"
    python.parent.mkdir()
    python.symlink_to(sys.executable)
    monkeypatch.setattr(launcher, "VENV", tmp_path)
    monkeypatch.setattr(launcher, "PYTHON", python)
    assert launcher.interpreter_of_venv() == ""

    pip = tmp_path / "lib/python3.11/site-packages/pip/__main__.py"
    pip.parent.mkdir(parents=True)
    pip.touch()

    assert launcher.interpreter_of_venv() == os.path.realpath(sys.executable)


# How it is installed


def test_every_way_of_installing_demands_hashes_of_the_same_list():
    commands = launcher.install_commands("/v/bin/python", Path("/p/requirements"), "run")

    assert [command[0] for command in commands] == ["/v/bin/uv", "/v/bin/uv", "/v/bin/python"]
    assert ["--system-certs" in command for command in commands] == [True, False, False]
    for command in commands:
        assert "--require-hashes" in command
        assert command[-2:] == ["-r", "/p/requirements/run.txt"]


def test_uv_itself_comes_by_a_hashed_list():
    command = launcher.fetch_uv_command("/v/bin/python", Path("/p/requirements"))

    assert command[:4] == ["/v/bin/python", "-m", "pip", "install"]
    assert "--require-hashes" in command
    assert command[-2:] == ["-r", "/p/requirements/uv.txt"]


def fake_environment(folder, monkeypatch, exit_codes):
    """A Python and a uv that write down how they were called and end with the given codes."""
    (folder / "bin").mkdir(parents=True)
    for name in ("python", "uv"):
        program = folder / "bin" / name
        program.write_text(
            f'#!/bin/sh\necho "{name} $*" >> {folder}/calls\necho "{name} failed" >&2\n'
            f"exit {exit_codes[name]}\n"
        )
        program.chmod(program.stat().st_mode | stat.S_IXUSR)
    monkeypatch.setattr(launcher, "PYTHON", folder / "bin" / "python")
    monkeypatch.setattr(launcher, "STAMP", folder / "stamp.json")
    return folder / "calls"


def test_pip_installs_where_uv_cannot(tmp_path, monkeypatch):
    calls = fake_environment(tmp_path, monkeypatch, {"uv": 2, "python": 0})

    launcher.install_packages("run")

    assert [line.split()[0] for line in calls.read_text().splitlines()] == (
        ["python", "uv", "uv", "python"]
    )


def test_uv_that_works_is_asked_once(tmp_path, monkeypatch):
    calls = fake_environment(tmp_path, monkeypatch, {"uv": 0, "python": 0})

    launcher.install_packages("test")

    assert [line.split()[0] for line in calls.read_text().splitlines()] == ["python", "uv"]


def test_a_failed_installation_says_what_to_do_and_leaves_no_stamp(tmp_path, monkeypatch):
    fake_environment(tmp_path, monkeypatch, {"uv": 2, "python": 1})
    launcher.STAMP.write_text(json.dumps(stamp()))

    with pytest.raises(SystemExit, match=r"(?s)uv failed.*run\.txt could not be installed"):
        launcher.install_packages("run")

    assert not launcher.STAMP.exists()


def test_a_second_start_waits_for_the_first(tmp_path):
    holds = (
        "import sys, time; from pathlib import Path; from casework import launcher\n"
        "launcher.LOCAL = Path(sys.argv[1])\n"
        "with launcher.one_at_a_time():\n"
        "    with open(launcher.LOCAL / 'order', 'a') as order:\n"
        "        print('in', file=order, flush=True); time.sleep(0.3)\n"
        "        print('out', file=order, flush=True)\n"
    )
    command = [sys.executable, "-c", holds, str(tmp_path)]

    starts = [subprocess.Popen(command, cwd=ROOT, stderr=subprocess.PIPE) for _ in range(3)]
    said = [start.communicate(timeout=30)[1] for start in starts]

    assert [start.returncode for start in starts] == [0, 0, 0]
    assert (tmp_path / "order").read_text().split() == ["in", "out"] * 3
    assert sum(b"waiting for it" in words for words in said) == 2


# The front door and the lists as they are committed


def test_importing_the_front_door_starts_nothing():
    done = subprocess.run(
        [sys.executable, "-c", "import manage"], cwd=ROOT, capture_output=True, text=True
    )

    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


@pytest.mark.parametrize("name", ["launcher", "machine", "debian", "bundle"])
def test_set_up_stands_on_the_standard_library(name):
    # -S leaves out site-packages, -I the environment's additions to the path.
    code = f"import sys; sys.path.insert(0, {str(ROOT)!r}); import casework.{name}"
    done = subprocess.run([sys.executable, "-I", "-S", "-c", code], capture_output=True)

    assert done.returncode == 0, done.stderr.decode()


def pins(name):
    text = (launcher.REQUIREMENTS / f"{name}.txt").read_text()
    return set(re.findall(r"^([a-z0-9._-]+==[^\\\n]+)", text, re.MULTILINE))


def test_the_test_list_contains_the_run_list():
    assert pins("run")
    assert pins("run") <= pins("test")


@pytest.mark.parametrize("name", ["run", "test", "uv", "web"])
def test_every_pinned_package_has_a_hash(name):
    text = (launcher.REQUIREMENTS / f"{name}.txt").read_text()
    blocks = re.split(r"^(?=[a-z0-9])", text, flags=re.MULTILINE)[1:]

    assert len(blocks) == len(pins(name))
    assert not [block.split()[0] for block in blocks if "--hash=sha256:" not in block]


def test_what_is_asked_for_is_pinned():
    asked = re.findall(r"^[a-z0-9-]+", (launcher.REQUIREMENTS / "run.in").read_text(), re.M)

    assert asked
    assert not set(asked) - {re.split(r"==|\[", pin)[0] for pin in pins("run")}


def test_no_committed_file_names_a_package_index():
    listed = subprocess.run(
        ["git", "-c", "safe.directory=*", "ls-files", "-z"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    names = [name for name in listed.stdout.split("\0") if name]
    # Written in two halves so that this file does not name one either.
    hosts = re.compile(
        "|".join(
            (
                r"pypi\." + "org",
                r"python" + r"hosted\.org",
                r"registry\." + "npmjs",
                r"registry\." + "yarnpkg",
                r"deb\." + r"debian\.org",
                r"snapshot\." + r"debian\.org",
            )
        ).encode()
    )

    assert names
    assert not [
        n for n in names if (ROOT / n).is_file() and hosts.search((ROOT / n).read_bytes())
    ]
