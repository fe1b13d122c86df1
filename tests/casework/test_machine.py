"""Are missing parts of the operating system found, asked for and put in reach?"""

from pathlib import Path

import pytest

from casework import machine


def part(package):
    return next(part for part in machine.PARTS if part.package == package)


def put(root, path):
    file = Path(root, path)
    file.parent.mkdir(parents=True, exist_ok=True)
    file.touch(mode=0o755)
    return file


def packages(parts):
    return [part.package for part in parts]


RUN = [
    "libpango-1.0-0",
    "libpangoft2-1.0-0",
    "libharfbuzz-subset0",
    "fonts-dejavu-core",
    "fonts-wqy-microhei",
    "fonts-tlwg-loma-ttf",
    "fonts-lohit-deva",
    "fonts-noto-color-emoji",
]
TEST = [*RUN, "qpdf", "poppler-utils", "libatomic1", "chromium-headless-shell"]


def test_papers_need_pango_and_fonts_and_the_tests_some_programs():
    assert packages(machine.parts_for("run")) == RUN
    assert packages(machine.parts_for("test")) == TEST


def test_a_bare_machine_lacks_everything(tmp_path, monkeypatch):
    monkeypatch.setenv("PATH", "")

    lacking = machine.missing(machine.parts_for("test"), tmp_path / ".local", tmp_path / "root")

    assert packages(lacking) == TEST


@pytest.mark.parametrize(
    ("package", "path"),
    [
        ("libpango-1.0-0", f"usr/lib/{machine.MULTIARCH}/libpango-1.0.so.0"),
        ("libpango-1.0-0", "usr/lib64/libpango-1.0.so.0"),
        ("libharfbuzz-subset0", f"usr/lib/{machine.MULTIARCH}/libharfbuzz-subset.so.0"),
        ("fonts-dejavu-core", "usr/share/fonts/truetype/dejavu/DejaVuSans.ttf"),
        ("fonts-wqy-microhei", "usr/share/fonts/opentype/noto/NotoSansCJK-Regular.ttc"),
        ("qpdf", "usr/bin/qpdf"),
        ("chromium-headless-shell", "usr/lib/chromium/chromium-headless-shell"),
        ("chromium-headless-shell", "usr/bin/chromium"),
    ],
)
@pytest.mark.parametrize("where", ["root", ".local/deb"])
def test_a_part_is_found_installed_or_unpacked(tmp_path, monkeypatch, package, path, where):
    monkeypatch.setenv("PATH", "")
    put(tmp_path / where, path)

    lacking = machine.missing([part(package)], tmp_path / ".local", tmp_path / "root")

    assert lacking == []


def test_a_program_is_found_on_the_path(tmp_path, monkeypatch):
    put(tmp_path, "own/pdftotext")
    monkeypatch.setenv("PATH", f"/nowhere:{tmp_path}/own")

    assert machine.missing([part("poppler-utils")], tmp_path, tmp_path / "root") == []


# What was tried in vain


def test_what_was_not_to_be_had_is_not_tried_at_every_start(tmp_path):
    lacking = [part("libpango-1.0-0"), part("fonts-lohit-deva")]
    assert machine.not_tried_yet(lacking, tmp_path) == lacking

    (tmp_path / "not-to-be-had").write_text(machine.digest_of(lacking) + "\nA sentence.\n")

    assert machine.not_tried_yet(lacking, tmp_path) == []
    assert machine.not_tried_yet(lacking[::-1], tmp_path) == []
    assert machine.not_tried_yet(lacking[:1], tmp_path) == lacking[:1]
    assert machine.not_tried_yet(lacking, tmp_path, again=True) == lacking


# How it is put in reach


def test_nothing_unpacked_needs_no_environment(tmp_path):
    assert machine.environment(tmp_path, {"PATH": "/usr/bin"}) == {}


def test_unpacked_libraries_come_first_and_unpacked_programs_last(tmp_path):
    deb, arch = tmp_path / "deb", machine.MULTIARCH
    deb.mkdir()

    entries = machine.environment(tmp_path, {"PATH": "/usr/bin:/bin", "LD_LIBRARY_PATH": "/x"})

    assert entries == {
        "FONTCONFIG_FILE": f"{tmp_path}/fonts.conf",
        "LD_LIBRARY_PATH": (
            f"{deb}/usr/lib/{arch}:{deb}/lib/{arch}:{deb}/usr/lib/{arch}/pulseaudio:/x"
        ),
        "PATH": f"/usr/bin:/bin:{deb}/usr/bin",
    }


def test_the_environment_is_the_same_when_made_twice(tmp_path):
    (tmp_path / "deb").mkdir()
    once = machine.environment(tmp_path, {"PATH": "/usr/bin"})

    assert machine.environment(tmp_path, {"PATH": "/usr/bin"} | once) == once


# The browser


def test_a_browser_on_the_path_is_taken(tmp_path):
    chromium = put(tmp_path, "bin/chromium")

    assert machine.browser(tmp_path, {"PATH": f"{tmp_path}/bin"}) == str(chromium)


def test_a_chosen_browser_wins(tmp_path):
    put(tmp_path, "bin/chromium")
    environ = {"PATH": f"{tmp_path}/bin", "CASEWORK_BROWSER": "/opt/mine"}

    assert machine.browser(tmp_path, environ) == "/opt/mine"


def test_an_unpacked_browser_is_started_without_its_script(tmp_path):
    put(tmp_path, "deb/usr/bin/chromium-headless-shell")
    program = put(tmp_path, "deb/usr/lib/chromium/chromium-headless-shell")

    assert machine.browser(tmp_path, {"PATH": f"{tmp_path}/deb/usr/bin"}) == str(program)


def test_no_browser_is_none(tmp_path):
    assert machine.browser(tmp_path, {"PATH": str(tmp_path)}) is None
