"""Does a print hold what the paper says, whatever was typed, and nothing from elsewhere?"""

import io
import re
import shutil
import subprocess
import sys
import time

import pikepdf
import pytest
from PIL import ImageFile

from orders.documents import printing
from tests.orders.documents.sheets import (
    make_file,
    make_sheet,
    missing_glyphs,
    pages_of,
    text_of_pdf,
)

# Names of people in many scripts, as a practice may type them.
NAMES = {
    "cjk": "\u5c71\u7530 \u592a\u90ce",
    "arabic": "\u0645\u062d\u0645\u062f \u0639\u0644\u064a",
    "hebrew": "\u05d9\u05e2\u05dc \u05db\u05d4\u05df",
    "cyrillic": "\u041e\u043b\u0435\u0433",
    "thai": "\u0e2a\u0e21\u0e0a\u0e32\u0e22",
    "devanagari": "\u0930\u093e\u091c",
    "emoji": "Kim \U0001f469\u200d\U0001f52c",
    "combining": "Zoe\u0301",
}
BIDI_MARKS = re.compile("[\u200e\u200f\u202a-\u202e\u2066-\u2069]")


def test_a_print_is_a_sound_pdf(tmp_path):
    pdf = printing.pdf_of(make_sheet())
    path = tmp_path / "paper.pdf"
    path.write_bytes(pdf)

    assert pdf.startswith(b"%PDF-")
    assert shutil.which("qpdf"), "qpdf is needed to check prints"
    subprocess.run(["qpdf", "--check", str(path)], check=True, capture_output=True)


def test_a_print_is_built_to_pdf_ua():
    """What ISO 14289-1 asks of the structure, from memory; nothing here certifies it."""
    with pikepdf.open(io.BytesIO(printing.pdf_of(make_sheet()))) as pdf:
        root = pdf.Root
        with pdf.open_metadata() as metadata:
            assert metadata["pdfuaid:part"] == "1"
            assert metadata["dc:title"] == "Order sheet OS-2026-00001"
        assert bool(root.MarkInfo.Marked)
        assert str(root.Lang) == "en"
        assert bool(root.ViewerPreferences.DisplayDocTitle)
        kinds = list(_elements(root.StructTreeRoot))
    assert {"/H1", "/H2", "/Table", "/TH", "/TD", "/Figure"} <= {kind for kind, _alt in kinds}
    assert [alt for kind, alt in kinds if kind == "/Figure"] == [
        "QR code: OS-2026-00001 QRS-TUV2"
    ]


def _elements(node):
    if isinstance(node, pikepdf.Array):
        for item in node:
            yield from _elements(item)
    elif isinstance(node, pikepdf.Dictionary) and ("/S" in node or "/K" in node):
        if "/S" in node:
            yield str(node.S), str(node.get("/Alt", ""))
        yield from _elements(node.get("/K", pikepdf.Array()))


def test_fonts_travel_with_the_print():
    with pikepdf.open(io.BytesIO(printing.pdf_of(make_sheet()))) as pdf:
        fonts = [obj for obj in pdf.objects if _is_font_descriptor(obj)]
        assert fonts
        assert all("/FontFile2" in font or "/FontFile3" in font for font in fonts)


def _is_font_descriptor(obj):
    return isinstance(obj, pikepdf.Dictionary) and obj.get("/Type") == "/FontDescriptor"


def test_the_same_facts_make_the_same_bytes():
    assert printing.pdf_of(make_sheet()) == printing.pdf_of(make_sheet())
    assert printing.pdf_of(make_sheet()) != printing.pdf_of(make_sheet(note="x"))


@pytest.mark.slow
def test_e01_a_long_note_stays_whole_and_inside_the_margins(tmp_path):
    words = " ".join(f"word{number:04d}" for number in range(2000))
    pdf = printing.pdf_of(make_sheet(note=f"{words}\n{'x' * 5000}\nEND-OF-NOTE"))

    text = text_of_pdf(pdf, tmp_path)
    assert "word0000" in text and "word1999" in text and "END-OF-NOTE" in text
    assert sum(len(run) for run in re.findall(r"\bx+\b", text)) == 5000
    assert pages_of(pdf) == 7
    boxes = text_of_pdf(pdf, tmp_path, "-bbox")
    margin = 16 / 25.4 * 72
    words = re.findall(r'<word xMin="([\d.]+)" yMin="[\d.]+" xMax="([\d.]+)"', boxes)
    for left, right in words:
        assert margin - 1 < float(left) and float(right) < 595.3 - margin + 1


def test_e02_names_in_many_scripts_have_real_glyphs(tmp_path):
    pdf = printing.pdf_of(make_sheet(note="\n".join(NAMES.values())))

    text = text_of_pdf(pdf, tmp_path)
    assert missing_glyphs(pdf) == 0
    text = BIDI_MARKS.sub("", text)
    for name in ("\u5c71\u7530 \u592a\u90ce", "\u041e\u043b\u0435\u0433", "Zo\u00e9"):
        assert name in text


def test_e02_a_number_beside_a_hebrew_name_stays_there(tmp_path):
    pdf = printing.pdf_of(make_sheet(note="\u05d9\u05e2\u05dc 12-34 (Kohen)"))

    line = next(row for row in text_of_pdf(pdf, tmp_path).splitlines() if "12-34" in row)
    assert "\u05d9\u05e2\u05dc" in line and "Kohen" in line


def test_the_count_of_missing_glyphs_sees_one():
    """Cuneiform is in no font of the set-up; without this the test above proves nothing."""
    assert missing_glyphs(printing.pdf_of(make_sheet(note="\U00012000"))) == 1


TYPED = (
    "<script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "A & B < C",
    "&lt;b&gt;",
    "</td></tr></table><style>*{display:none}</style>",
    "{{ 7*7 }} {% now %}",
)


def test_e03_markup_is_shown_as_typed(tmp_path):
    paper = make_sheet(note="\n".join(TYPED))

    page = printing.html_of(paper)
    # Narrow blanks beside signs are lost in the text of a print, so blanks do not count.
    text = "".join(text_of_pdf(printing.pdf_of(paper), tmp_path, "-layout").split())
    assert "<script>" not in page and "onerror=alert(1)>" not in page
    for typed in TYPED:
        assert typed.replace(" ", "") in text


def test_e08_quotes_in_names_are_shown_as_typed(tmp_path):
    name = "d'Angelo-M\u00fcller \u201cBo\u201d \"Li\" O\u2019Brien; DROP TABLE"

    text = text_of_pdf(printing.pdf_of(make_sheet(practice=name)), tmp_path)
    assert name in " ".join(text.split())


@pytest.mark.slow
def test_e05_a_long_table_loses_no_row_and_repeats_its_head(tmp_path):
    files = [make_file(number, role=f"R{number:03d}") for number in range(120)]

    began = time.process_time()
    pdf = printing.pdf_of(make_sheet(files=files))
    took = time.process_time() - began

    rows = re.findall(r"\bR\d{3}\b", text_of_pdf(pdf, tmp_path))
    assert rows == [f"R{number:03d}" for number in range(120)]
    heads = 0
    for page in range(1, pages_of(pdf) + 1):
        text = text_of_pdf(pdf, tmp_path, "-f", str(page), "-l", str(page))
        if re.search(r"\bR\d{3}\b", text):
            heads += 1
            assert "File, size, SHA-256" in text
    assert heads >= 4
    assert took < 10


@pytest.mark.parametrize(
    "address",
    ["file:///etc/passwd", "http://192.0.2.1/x.png", "data:image/svg+xml,<svg/>", "other.svg"],
)
def test_a_print_loads_nothing_but_its_own_pictures(address):
    page = f'<html lang="en"><title>x</title><body><img alt="x" src="{address}"></body></html>'

    if "://" in address or ":" in address:
        with pytest.raises(printing.ForeignAddress):
            printing.draw(page, {})
    else:
        assert b"/Subtype /Image" not in printing.draw(page, {})


def test_style_sheets_from_elsewhere_end_the_print():
    page = '<html lang="en"><title>x</title><style>@import "http://192.0.2.1/a.css"</style></html>'

    with pytest.raises(printing.ForeignAddress):
        printing.draw(page, {})


def test_without_pango_it_is_said_and_the_page_still_stands(monkeypatch):
    for name in [name for name in sys.modules if name.split(".")[0] == "weasyprint"]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setattr(sys, "meta_path", [_NoLibrary(), *sys.meta_path])

    with pytest.raises(printing.NoPango):
        printing.pdf_of(make_sheet())
    assert "Order sheet" in printing.html_of(make_sheet())


class _NoLibrary:
    """Fails as the import does on a machine without Pango."""

    def find_spec(self, name, path=None, target=None):
        if name == "weasyprint":
            raise OSError("cannot load library 'libpango-1.0-0'")


def test_the_print_view_has_its_picture_inside_and_a_nonce_on_its_style():
    page = printing.html_of(make_sheet(), csp_nonce="abc")

    assert 'src="data:image/svg+xml' in page
    assert '<style nonce="abc">' in page
    assert "<script" not in page and "style=" not in page


def test_printing_leaves_cut_pictures_refused():
    """The drawing library tells the imaging library to pass over what is cut off."""
    printing.draw("<p>a page</p>", {})

    assert ImageFile.LOAD_TRUNCATED_IMAGES is False
