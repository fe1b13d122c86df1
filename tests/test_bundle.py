"""Is the page's script built once, given up with a sentence, and never needed?"""

import shutil
import subprocess
from pathlib import Path

import pytest

from casework import bundle


def bundle_libraries():
    """The libraries that set-up fetched; without Node.js there are none."""
    folder = Path(bundle.__file__).resolve().parent.parent / "web" / "node_modules"
    if not folder.is_dir() or not bundle.has_node():
        pytest.skip("Set-up fetched no libraries for the page's script here.")
    return folder


@pytest.fixture
def web(tmp_path, monkeypatch):
    """A folder of sources of its own, and what was said."""
    folder = tmp_path / "web"
    shutil.copytree(bundle.WEB / "viewer", folder / "viewer")
    for name in ("package.json", "package-lock.json", ".npmrc"):
        shutil.copy(bundle.WEB / name, folder / name)
    built = folder / "built"
    monkeypatch.setattr(bundle, "WEB", folder)
    monkeypatch.setattr(bundle, "BUILT", built)
    for name, file in (("SCRIPT", "viewer.js"), ("STAMP", "stamp"), ("FAILED", "failed")):
        monkeypatch.setattr(bundle, name, built / file)
    return folder


def test_it_is_built_once_and_again_where_a_source_changed(web, monkeypatch):
    said = []
    libraries = bundle_libraries()
    (web / "node_modules").symlink_to(libraries)
    # What set-up fetched is taken as it lies here: a test asks no registry.
    monkeypatch.setattr(bundle, "INSTALL", ("--version",))

    assert bundle.is_wanted(again=False) and bundle.build(said.append, lambda: None)
    assert bundle.is_built() and not bundle.is_wanted(again=True)
    assert bundle.SCRIPT.stat().st_size > 100_000

    (web / "viewer" / "main.js").write_text("export {};\n")
    assert bundle.is_wanted(again=False)


def test_without_node_it_is_given_up_once_and_said(web, monkeypatch):
    said = []
    monkeypatch.setattr(bundle, "has_node", lambda: False)

    assert bundle.build(said.append, lambda: None) is False

    assert "drawn pictures and tables instead" in said[-1]
    assert not bundle.is_wanted(again=False) and bundle.is_wanted(again=True)


def test_what_npm_said_is_told_and_nothing_half_built_stays(web, monkeypatch):
    said = []
    monkeypatch.setattr(bundle, "tried", lambda *command: "npm error: no connection")

    assert bundle.build(said.append, lambda: None) is False

    assert said[-1].startswith("npm error: no connection")
    assert not bundle.SCRIPT.exists() and not bundle.is_built()


def test_node_that_lies_apart_is_found_first(tmp_path):
    assert bundle.environment({"PATH": "/usr/bin"}, tmp_path)["PATH"] == f"{tmp_path}:/usr/bin"


@pytest.mark.parametrize(
    ("version", "is_enough"),
    [("v24.1.0", True), ("v18.0.0", True), ("v16.20.2", False), ("", False)],
)
def test_an_old_node_counts_as_none(monkeypatch, version, is_enough):
    monkeypatch.setattr(bundle.shutil, "which", lambda name, path=None: f"/usr/bin/{name}")
    answer = subprocess.CompletedProcess([], 0, stdout=f"{version}\n")
    monkeypatch.setattr(bundle, "run", lambda command: answer)

    assert bundle.has_node() is is_enough


def test_the_lock_file_names_no_registry():
    text = (bundle.WEB / "package-lock.json").read_text()

    assert '"resolved"' not in text and '"integrity"' in text
