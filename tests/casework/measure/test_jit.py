"""Where is compiled code kept, and is none ever used that was made from other sources?"""

from pathlib import Path

import numba
import pytest

from casework.measure.jit import cache_folder


@pytest.fixture
def package(tmp_path, monkeypatch):
    monkeypatch.setattr(numba.config, "CACHE_DIR", "")
    folder = tmp_path / "measure"
    (folder / "deep").mkdir(parents=True)
    (folder / "one.py").write_text("from casework.measure.deep.two import B\nA = 1\n")
    (folder / "deep" / "two.py").write_text("import casework.measure.three\nB = 2\n")
    (folder / "three.py").write_text("C = 3\n")
    (folder / "apart.py").write_text("D = 4\n")
    return folder


@pytest.mark.parametrize("changed", ["one.py", "deep/two.py", "three.py"])
def test_a_change_in_a_file_or_in_what_it_brings_in_opens_another_folder(package, changed):
    before = cache_folder(package / "one.py", package)
    assert cache_folder(package / "one.py", package) == before
    assert before.parent == package / "__pycache__"

    with (package / changed).open("a") as file:
        file.write("E = 5\n")

    assert cache_folder(package / "one.py", package) != before


def test_a_change_elsewhere_costs_no_compiling(package):
    before = cache_folder(package / "one.py", package)
    (package / "apart.py").write_text("D = 6\n")
    assert cache_folder(package / "one.py", package) == before


def test_two_files_that_bring_each_other_in_have_a_folder(package):
    (package / "three.py").write_text("from casework.measure.one import A\n")
    assert cache_folder(package / "three.py", package) is not None


def test_the_users_own_cache_is_taken_where_the_sources_cannot_be_written(package, monkeypatch):
    home = package.parent / "home"
    monkeypatch.setattr(Path, "home", lambda: home)
    (package / "__pycache__").write_text("a file where the folder should be")

    assert cache_folder(package / "one.py", package).parent == home / ".cache" / "casework"


def test_without_any_place_nothing_is_kept(package, monkeypatch):
    def no_home():
        raise RuntimeError("no home")

    monkeypatch.setattr(Path, "home", no_home)
    (package / "__pycache__").write_text("a file where the folder should be")

    assert cache_folder(package / "one.py", package) is None


def test_the_folder_that_is_asked_for_comes_first(package, monkeypatch):
    monkeypatch.setattr(numba.config, "CACHE_DIR", str(package.parent / "asked"))
    assert cache_folder(package / "one.py", package).parent == package.parent / "asked"
