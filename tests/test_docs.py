"""Do the written pages say what the tables say?"""

from pathlib import Path

import pytest

from casework.writing_docs import PAGES

DOCS = Path(__file__).resolve().parent.parent / "docs"


@pytest.mark.parametrize("name", PAGES)
def test_written_page_says_what_the_table_says(name):
    assert (DOCS / name).read_text() == PAGES[name](), "run `python3 manage.py write_docs`"


def test_every_page_is_listed_in_the_index():
    index = (DOCS / "index.md").read_text()
    pages = [p.relative_to(DOCS).as_posix() for p in DOCS.rglob("*.md") if p.name != "index.md"]

    assert [page for page in pages if page not in index] == []
