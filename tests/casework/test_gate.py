"""Does the test command run every step on what it was told to use, and refuse otherwise?"""

import socket
import sys

import pytest

from casework import gate

BOTH = ("DATABASE_URL", "REDIS_URL")


def titles(arguments, services):
    return [title for title, _, _ in gate.steps(arguments, services)]


def words_after(command, option):
    """The values of an option of pytest; the interpreter's own -m stands before them."""
    command = command[command.index("pytest") + 1 :]
    return [command[i + 1] for i, word in enumerate(command) if word == option]


# Steps


def test_the_whole_gate_lints_compares_migrations_and_tests():
    assert titles([], ()) == ["Linter", "Migrations", "Tests on SQLite"]


def test_named_services_are_a_second_pass():
    assert titles([], BOTH)[-1] == "Tests on the services of DATABASE_URL and REDIS_URL"
    assert [own for _, _, own in gate.steps([], BOTH)] == [(), (), (), BOTH]


def test_a_choice_of_tests_runs_only_them():
    assert titles(["tests/orders"], ()) == ["Tests on SQLite"]
    assert gate.pytest_command(["tests/orders", "-k", "tooth"])[1:] == (
        ["-m", "pytest", "tests/orders", "-k", "tooth"]
    )


def test_the_whole_suite_runs_side_by_side():
    assert gate.pytest_command([])[1:] == ["-m", "pytest", "-n", "2", "--dist", "loadgroup"]


@pytest.mark.parametrize(
    ("services", "expression"),
    [
        (("DATABASE_URL",), "database or worker"),
        (BOTH, "database or worker"),
        (("REDIS_URL",), "worker"),
    ],
)
def test_the_second_pass_takes_the_tests_that_need_the_services(services, expression):
    assert words_after(gate.pytest_command([], services), "-m") == [expression]


@pytest.mark.parametrize(
    "arguments", [["-m", "not slow", "-x"], ["-mnot slow", "-x"], ["-x", "-m=not slow"]]
)
def test_a_choice_by_mark_is_joined_with_the_second_pass(arguments):
    second = gate.pytest_command(arguments, BOTH)

    assert words_after(second, "-m") == ["(database or worker) and (not slow)"]
    assert second[-1] == "-x"
    assert words_after(gate.pytest_command(arguments), "-m") == ["not slow"]


def test_options_with_long_names_are_not_taken_for_marks():
    assert gate.split_marks(["--maxfail", "1", "--markers"]) == (
        "",
        ["--maxfail", "1", "--markers"],
    )


def test_no_test_at_all_fails_the_gate_but_not_a_choice_without_services():
    assert gate.verdict(5, [], BOTH) == 5
    assert gate.verdict(5, ["-k", "x"], ()) == 5
    assert gate.verdict(5, ["-k", "x"], BOTH) == 0
    assert gate.verdict(1, ["-k", "x"], BOTH) == 1


# What a pass sees


SHELL = {
    "PATH": "/usr/bin",
    "DATABASE_URL": "postgresql://a@127.0.0.1/b",
    "REDIS_URL": "redis://127.0.0.1/1",
    "S3_BUCKET": "evidence",
    "SECRET_KEY": "k",
    "CASEWORK_DATA": "/srv/data",
    "CASEWORK_REQUIRE_BROWSER": "1",
    "CASEWORK_BROWSER": "/usr/bin/chromium",
}


def test_the_first_pass_sees_no_service_and_no_setting_of_the_installation():
    assert gate.clean(SHELL) == {
        "PATH": "/usr/bin",
        "CASEWORK_REQUIRE_BROWSER": "1",
        "CASEWORK_BROWSER": "/usr/bin/chromium",
    }


def test_the_second_pass_sees_the_services_it_was_told_to_use():
    assert gate.clean(SHELL, BOTH).keys() - gate.clean(SHELL).keys() == set(BOTH)


def test_an_empty_address_names_no_service():
    assert gate.named_services({"DATABASE_URL": "  ", "REDIS_URL": ""}) == ()
    assert gate.named_services(SHELL) == BOTH


# Refusing before the first test


@pytest.fixture
def closed_port():
    """A port of this machine on which nothing listens: it is bound and never listened on."""
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        yield held.getsockname()[1]


def test_a_silent_database_is_named(closed_port):
    url = f"postgresql://nobody@127.0.0.1:{closed_port}/none"

    sentence = gate.objection_to_database(url)

    assert sentence.startswith("The database named by DATABASE_URL does not answer")
    assert "unset DATABASE_URL" in sentence


def test_a_silent_broker_is_named(closed_port):
    sentence = gate.objection_to_broker(f"redis://127.0.0.1:{closed_port}/0")

    assert sentence.startswith("The broker named by REDIS_URL does not answer")


def test_an_address_that_is_none_is_named():
    assert "REDIS_URL" in gate.objection_to_broker("127.0.0.1")
    assert "DATABASE_URL" in gate.objection_to_database("not an address")


@pytest.mark.parametrize(
    ("environ", "refused"),
    [
        ({"CASEWORK_REQUIRE_BROWSER": "1"}, True),
        ({"CASEWORK_REQUIRE_BROWSER": "1", "CASEWORK_BROWSER": "/usr/bin/chromium"}, False),
        ({"CASEWORK_REQUIRE_BROWSER": "0"}, False),
        ({}, False),
    ],
)
def test_a_required_browser_must_be_there(environ, refused):
    assert bool(gate.objection_to_browser(environ)) == refused


def test_a_refusal_runs_nothing(monkeypatch, closed_port, capsys):
    monkeypatch.setenv("REDIS_URL", f"redis://127.0.0.1:{closed_port}/0")
    monkeypatch.delenv("DATABASE_URL", raising=False)
    monkeypatch.setattr(gate, "steps", lambda *_: pytest.fail("a step was asked for"))

    assert gate.run([]) == 2
    assert "REDIS_URL does not answer" in capsys.readouterr().err


# The exit code


def programs(*codes):
    return [
        (f"Step {i}", [sys.executable, "-c", f"raise SystemExit({code})"], ())
        for i, code in enumerate(codes)
    ]


@pytest.mark.parametrize(
    ("codes", "code"), [((0, 0), 0), ((1, 0), 1), ((0, 2, 1), 2), ((1, 0, 5), 5)]
)
def test_every_step_runs_and_the_worst_exit_code_counts(monkeypatch, capfd, codes, code):
    for name in BOTH:
        monkeypatch.delenv(name, raising=False)
    monkeypatch.delenv("CASEWORK_REQUIRE_BROWSER", raising=False)
    monkeypatch.setattr(gate, "steps", lambda *_: programs(*codes))

    assert gate.run([]) == code
    printed = capfd.readouterr().out
    assert all(f"== Step {i}:" in printed for i in range(len(codes)))


def test_a_step_has_a_data_folder_of_its_own(capfd):
    command = [sys.executable, "-c", "import os; print(os.environ['CASEWORK_DATA'])"]

    assert gate.run_step("Where", command, {}) == 0

    assert "casework-test-" in capfd.readouterr().out.splitlines()[-1]
