"""Which paper needs no database, and what can be read from a print?"""

import html
import io
import re
import subprocess

import pikepdf

from orders.canonical import digest_of_bytes
from orders.documents import freeze, order_sheet, printing
from orders.documents.models import Paper

PARTY = {"name": "Practice Under the Lime", "address": "4 Lime Lane", "kind": "practice"}
CROWN = {"tooth": "45", "kind": "crown", "on": "tooth"}
RX = {
    "number": 1,
    "material_family": "zirconia",
    "strength_class": 4,
    "strength_class_words": "class 4 or higher",
    "material": "Invented Zirconia Four",
    "material_composition": "zirconium oxide",
    "material_source": "invented",
    "retention": "screw",
    "margin_depth_mm": "0.5",
    "contacts": "usual",
    "occlusal_scheme": "group function",
    "grinding": "suspected",
    "pontic_form": "ovate",
    "emergence": "concave",
    "surface": "glazed",
    "gum_shade_wanted": False,
    "allergies": "nickel",
    "wanted_on": "2026-04-09",
    "is_rush": True,
    "try_in_wanted": True,
    "look_waived": False,
    "fee": "estimate 4",
    "note": "",
    "written_on": "2026-03-14T09:30:00Z",
}


def make_file(number, *, role="radiograph", name=""):
    return {
        "number": number,
        "role": role,
        "jaw": "",
        "sites": ["45"],
        "name": name or f"Q-45-radiograph-{number}.dcm",
        "sha256": f"{number:064x}",
        "size_bytes": 1234567,
        "taken_on": "2026-03-12",
    }


def make_sheet(*, note="", files=(), practice="", personal=None, **changed):
    """An order sheet, not saved."""
    says = {
        "case": "QRS-TUV2",
        "patient": {"code": "P-00042", "age_band": "50-59", "sex": "female"},
        "practice": PARTY | ({"name": practice} if practice else {}),
        "laboratory": None,
        "prescriber": {"name": "Dora Dentist", "licence_number": "L-0002"},
        "others": [],
        "prescription": RX | {"note": note},
        "pieces": [{"teeth": ["45"], "units": [CROWN]}],
        "sites": [],
        "scan_bodies": [],
        "shade": None,
        "bite": None,
        "teeth": None,
        "files": list(files),
        "signature": None,
        "is_invented": True,
        "cautions": list(order_sheet.CAUTIONS),
    }
    head = {
        "title": "Order sheet",
        "number": "OS-2026-00001",
        "case": "QRS-TUV2",
        "issued_at": "2026-03-14T09:30:00Z",
        "issued_by": "Dora Dentist",
        "issued_for": "Practice Under the Lime",
        "replaces": None,
        "zone": "UTC",
    }
    facts = freeze(order_sheet.Facts(**(says | changed)), head)
    return Paper(
        kind="order_sheet",
        number="OS-2026-00001",
        facts=facts,
        facts_digest=digest_of_bytes(facts.encode()),
        personal=personal,
    )


def words_of(paper):
    """What a person reads of a paper's page, with one blank between words."""
    page = re.sub(r"<style.*?</style>", "", printing.html_of(paper), flags=re.S)
    return " ".join(html.unescape(re.sub("<[^>]+>", " ", page)).split())


def text_of_pdf(pdf, tmp_path, *options):
    """The text of a print as pdftotext (poppler) finds it."""
    path = tmp_path / "paper.pdf"
    path.write_bytes(pdf)
    done = subprocess.run(
        ["pdftotext", *options, str(path), "-"], capture_output=True, check=True
    )
    return done.stdout.decode()


def pages_of(pdf):
    with pikepdf.open(io.BytesIO(pdf)) as read:
        return len(read.pages)


def missing_glyphs(pdf):
    """How many kinds of glyph of a print are the box drawn for a character no font has.

    Glyph 0 of every OpenType font is ".notdef" (OpenType specification, table 'glyf'). A font
    that lacks a character has a character map of its own in the file, where the character's
    code stands for glyph 0.
    """
    fonts, zeros = {}, 0
    with pikepdf.open(io.BytesIO(pdf)) as read:
        for page in read.pages:
            names = page.Resources.get("/Font", {})
            fonts |= {font.objgen: font.get("/Encoding") for font in names.values()}
            for operands, operator in pikepdf.parse_content_stream(page):
                if str(operator) in ("Tj", "TJ"):
                    zeros += _zeros(operands[0] if str(operator) == "TJ" else operands)
        maps = [e.read_bytes() for e in fonts.values() if isinstance(e, pikepdf.Stream)]
    return zeros + sum(len(re.findall(rb"(?m)^<[0-9a-f]{4}> 0$", text)) for text in maps)


def _zeros(shown):
    texts = [bytes(text) for text in shown if isinstance(text, pikepdf.String)]
    return sum(text[i : i + 2] == b"\0\0" for text in texts for i in range(0, len(text), 2))
