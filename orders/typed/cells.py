"""How is text written into a table that a spreadsheet opens, and read back unchanged?

A cell that a spreadsheet would run as a formula gets an apostrophe in front, which the reader
takes away again. Source of the list of dangerous beginnings: OWASP, CSV Injection.
"""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence

from orders.typed.text import INVISIBLE

# Full-width forms of = + - @ act like the plain ones in some programs.
_FORMULA = re.compile(rf"'*(?:[\t\r\n]|[\s{INVISIBLE}]*[=+\-@\uff1d\uff0b\uff0d\uff20])")
# A negative number and a lone dash are harmless and stay readable for other programs.
_HARMLESS = re.compile(r"-|-\d+([.,]\d+)?", re.ASCII)
_LONGEST_CELL = 10_000_000


def _is_dangerous(text):
    return bool(_FORMULA.match(text)) and not _HARMLESS.fullmatch(text)


def safe_cell(text: str) -> str:
    """The text as a cell that no spreadsheet runs; `read_cell` gives the text back."""
    return f"'{text}" if _is_dangerous(text) else text


def read_cell(cell: str) -> str:
    """The text that `safe_cell` was given."""
    return cell[1:] if cell.startswith("'") and _is_dangerous(cell[1:]) else cell


def write_table(rows: Iterable[Sequence[str]]) -> str:
    """Rows of text as CSV (RFC 4180): every cell safe and quoted."""
    page = io.StringIO(newline="")
    writer = csv.writer(page, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    for row in rows:
        writer.writerow([safe_cell(text) for text in row])
    return page.getvalue()


def read_table(page: str) -> Iterator[list[str]]:
    """The rows that `write_table` was given."""
    csv.field_size_limit(_LONGEST_CELL)
    for row in csv.reader(io.StringIO(page, newline=""), strict=True):
        yield [read_cell(cell) for cell in row]
