"""Where is compiled code kept, and is none ever used that was made from other sources?"""

from pathlib import Path

import numba
import pytest

from casework.measure.jit import cache_folder


@pytest.fixture
def sources(tmp_path, monkeypatch):
    monkeypatch.setattr(numba.config, "CACHE_DIR", "")
    folder = tmp_path / "measure"
    folder.mkdir()
    (folder / "one.py").write_text("A = 1\n")
    return folder


def test_a_change_in_any_source_opens_another_folder(sources):
    before = cache_folder(sources)
    assert cache_folder(sources) == before and before.parent == sources / "__pycache__"

    (sources / "two.py").write_text("B = 2\n")
    between = cache_folder(sources)
    (sources / "one.py").write_text("A = 3\n")

    assert len({before, between, cache_folder(sources)}) == 3


def test_the_users_own_cache_is_taken_where_the_sources_cannot_be_written(sources, monkeypatch):
    home = sources.parent / "home"
    monkeypatch.setattr(Path, "home", lambda: home)
    (sources / "__pycache__").write_text("a file where the folder should be")

    assert cache_folder(sources).parent == home / ".cache" / "casework"


def test_without_any_place_nothing_is_kept(sources, monkeypatch):
    def no_home():
        raise RuntimeError("no home")

    monkeypatch.setattr(Path, "home", no_home)
    (sources / "__pycache__").write_text("a file where the folder should be")

    assert cache_folder(sources) is None


def test_the_folder_that_is_asked_for_comes_first(sources, monkeypatch):
    monkeypatch.setattr(numba.config, "CACHE_DIR", str(sources.parent / "asked"))
    assert cache_folder(sources).parent == sources.parent / "asked"
