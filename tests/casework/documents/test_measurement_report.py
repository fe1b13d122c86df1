"""Does a measurement report say each value, finding and place, with pictures that stay?"""

import base64
import io
import json

import numpy as np
import pikepdf
import pytest
from PIL import Image

from casework.documents import measurement_report
from casework.measure.quantities import quantities
from casework.measurements.pictures.making import Picture
from orders.canonical import digest_of_bytes
from orders.documents import printing
from orders.documents.services import issue_paper
from tests.casework.documents import scene
from tests.casework.measurements.pictures.mouth import results
from tests.orders.documents.sheets import words_of

FILES = [
    {
        "number": 4,
        "role": "design_part",
        "jaw": "lower",
        "sites": ["45", "46", "47"],
        "sha256": "4" * 64,
        "unit": "mm",
    }
]
THIN = {
    "weight": "ask",
    "subject": "45",
    "region": "axial",
    "says": "The wall of ISO 45 is thinner than its material asks for (axial).",
    "do": "Thicken it, or say why it is enough there.",
    "measured": "0.49 mm",
    "limit": "0.80 mm",
    "source": "common practice, no source",
}
WALL = quantities()["wall_thickness"].title
SECTION = quantities()["connector_area"].title
STOPPED = {"weight": "stop", "subject": "", "says": "Mirrored.", "do": "Send it again."}


def drawn(title="Least wall at ISO 45", pins=(1, 2), noise=False):
    """A picture as it is kept; with noise it is as large as a picture can be."""
    pixels = np.full((300, 400, 3), 200, np.uint8)
    if noise:
        pixels = np.random.default_rng(len(title)).integers(0, 255, (600, 700, 3), np.uint8)
    file = io.BytesIO()
    Image.fromarray(pixels).save(file, "PNG")
    return Picture(title, f"{title}: cut open. Numbered places: 1, 2.", file.getvalue(), pins)


def facts(case, version=None, **changed):
    handoff = case.handoffs.first()
    given = {
        "results": results(),
        "findings": [THIN, STOPPED],
        "files": FILES,
        "pictures": [drawn().as_dict(), drawn("Connector 45-46", (5,)).as_dict()],
        "versions": {"restoration": "3"},
        "missing": ["No bite scan is there."],
        "scan_errors": [{"subject": "45-47", "error": "10 µm", "source": "a study of 2025"}],
    }
    version = version or case.designs.get(number=2)
    return measurement_report.facts_of(handoff, version, **given | changed)


@pytest.fixture
def submitted(case, dentist, technician):
    scene.fill(case, dentist, technician)
    scene.hand_over(
        case, technician, dentist.party, move="submit_design", source="design", number=3
    )
    return case


@pytest.fixture
def issue(submitted, technician):
    def issued(**changed):
        return issue_paper(
            measurement_report.DOCUMENT,
            kind="measurement_report",
            order=submitted.order,
            subject=submitted.handoffs.first().subject,
            facts=facts(submitted, **changed),
            parties=[technician.party],
            by=technician,
            at=scene.AT,
        )

    return issued


def test_it_names_version_parties_files_and_what_is_missing(issue):
    text = words_of(issue())

    for words in (
        "Measurement report MR-2026-00001",
        "Practice Practice Under the Lime",
        "Laboratory Bench Four Laboratory",
        f"Design version 2 , made by Timo Bench , 14 Mar 2026, 09:30 (UTC) {'d' * 64}",
        f"4 Design part, lower 45-47 mm {'4' * 64}",
        "No bite scan is there.",
        "ISO 45-47 10 µm a study of 2025",
        "The licensed clinician and the technician decide",
    ):
        assert words in text


def test_findings_stand_first_the_heaviest_before_the_others(issue):
    text = words_of(issue())

    assert text.index("Mirrored.") < text.index("thinner than its") < text.index("Every value")
    assert (
        "Ask ISO 45 The wall of ISO 45 is thinner than its material asks for (axial)."
        " Thicken it, or say why it is enough there."
        " 0.49 mm 0.80 mm common practice, no source 1"
    ) in text


def test_each_value_stands_with_doubt_limit_and_place(issue):
    text = words_of(issue())

    for words in (
        f"{WALL} (axial) ISO 45 0.49 mm ± 0.01 mm 0.80 mm 1 -3.0, 0.0, 5.0",
        f"{WALL} (margin) ISO 45 0.41 mm ± 0.01 mm – 2 -3.0, 0.0, 3.1",
        f"{SECTION} ISO 45-46 9.00 mm² ± 0.01 mm² – 5 0.0, 0.0, 5.5",
    ):
        assert words in text


def test_what_is_not_known_stands_with_its_reason(issue):
    text = words_of(issue())

    assert f"{WALL} ISO 46 Not known: The invented part is open. – –" in text


def test_each_method_stands_once_with_its_version(issue):
    text = words_of(issue())

    assert text.count("how wall_thickness is measured 3") == 1
    assert "how connector_area is measured –" in text


def test_nothing_measured_is_said(issue):
    text = words_of(issue(results=[], findings=[], pictures=[], files=[]))

    for words in ("Nothing is measured yet.", "No check found anything.", "No file was read."):
        assert words in text
    assert "The places" not in text


def test_pictures_are_frozen_in_the_facts_under_the_digest_of_the_paper(issue):
    paper = issue()

    says = json.loads(paper.facts)["says"]
    for row, picture in zip(says["pictures"], (drawn(), drawn("Connector 45-46")), strict=True):
        assert base64.b64decode(row["png"]) == picture.png
        assert row["sha256"] == digest_of_bytes(picture.png)
    assert paper.facts_digest == digest_of_bytes(paper.facts.encode())


def test_the_print_view_has_the_pictures_inside(issue):
    page = printing.html_of(issue())

    png = base64.b64encode(drawn().png).decode()
    assert f'src="data:image/png;base64,{png}" alt="Least wall at ISO 45: cut open.' in page


def test_the_print_holds_the_pictures_and_says_in_words_what_they_show(issue):
    """What ISO 14289-1 asks of figures, an alternative text, from memory."""
    pdf = printing.pdf_of(issue())

    with pikepdf.open(io.BytesIO(pdf)) as read:
        figures = [
            str(obj.Alt)
            for obj in read.objects
            if isinstance(obj, pikepdf.Dictionary) and obj.get("/S") == "/Figure"
        ]
        sizes = {
            (int(obj.Width), int(obj.Height))
            for obj in read.objects
            if isinstance(obj, pikepdf.Stream) and obj.get("/Subtype") == "/Image"
        }
    assert sorted(figures)[:2] == [drawn("Connector 45-46").alt, drawn().alt]
    assert (400, 300) in sizes


def test_the_same_facts_make_the_same_print(issue):
    paper = issue()

    assert printing.pdf_of(paper) == printing.pdf_of(paper)


def test_pictures_beyond_the_bound_are_named_instead(issue):
    large = [drawn("x" * n, noise=True).as_dict() for n in (1, 2, 3, 4)]
    paper = issue(pictures=[*large, drawn("Last").as_dict()])

    says = json.loads(paper.facts)["says"]
    assert len(says["pictures"]) == 2
    assert says["left_out"] == ["xxx", "xxxx", "Last"]
    assert "Not shown here for their size: xxx; xxxx; Last." in words_of(paper)


def test_no_name_of_the_patient_stands_on_it(issue):
    paper = issue()

    assert paper.personal is None
    assert "Testperson" not in paper.facts
