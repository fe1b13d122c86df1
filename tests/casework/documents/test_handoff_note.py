"""Does a handoff note let the receiver check every file, record and promise?"""

import pytest

from orders.documents import printing
from tests.casework.documents import scene
from tests.orders.documents.sheets import pages_of, text_of_pdf, words_of


@pytest.fixture
def filled(case, dentist, technician):
    scene.fill(case, dentist, technician)
    return case


def note_of_order(case, dentist, laboratory, **more):
    return scene.send_order(case, dentist, laboratory, answers=[scene.answer()], **more)[1]


def test_it_says_who_handed_what_to_whom_and_when(filled, dentist, laboratory):
    text = words_of(note_of_order(filled, dentist, laboratory))

    for words in (
        "Send the order to the laboratory",
        "From Practice Under the Lime",
        "To Bench Four Laboratory",
        "Handed over by Dora Dentist , 14 Mar 2026, 09:30 (UTC)",
        "licence number L-4711",
    ):
        assert words in text


def test_every_file_and_record_stands_with_its_digest(filled, dentist, laboratory):
    note = note_of_order(filled, dentist, laboratory)
    text = words_of(note)

    for file in filled.evidence.select_related("derived"):
        assert f"{file.derived.name}, 1 234 000 bytes {file.derived.sha256}" in text
        assert file.sha256 not in text
    for body in filled.scan_bodies.all():
        assert f"Scan body use {body.site} 2 {body.digest()}" in text
    assert note_digest(filled) in text


def note_digest(case):
    return case.handoffs.get().manifest_digest


def test_asks_stand_with_the_reason_and_the_name(filled, dentist, laboratory):
    text = words_of(note_of_order(filled, dentist, laboratory))

    assert f"version 2 {scene.ASK} {scene.REASON} Dora Dentist" in text


def test_a_dispatch_names_parts_lots_courier_and_what_the_statement_needs(filled, technician):
    (note,) = scene.dispatch(filled, technician)
    text = words_of(note)

    for words in (
        "Own driver , T-9",
        "Expected 1 Apr 2026",
        "Disinfected yes",
        "Bridge 45-47 made to order Invented Zirconia Four , lot ZL-77 , ZC-77-2026",
        "milling: M-31",
        "furnace: F-12",
        "Retaining screw (sealed) 45 RS-41 retaining screw 4.1 lot RL-5",
        "The bridge is not in the parcel. Record only",
        "Say which cement fits. Dispatch for delivery not met yet",
        f"For the exclusive use of patient {filled.order.patient.code}",
        "This note is not the statement.",
        "general safety and performance requirements",
    ):
        assert words in text


def test_an_order_has_no_part_on_the_statement(filled, dentist, laboratory):
    note = note_of_order(filled, dentist, laboratory)

    assert "custom-made" not in words_of(note)


@pytest.mark.slow
def test_e05_a_row_of_many_lines_keeps_them_all(filled, dentist, laboratory, tmp_path):
    rows = [{"subject": f"R{n:03d}", "reason": f"item {n}"} for n in range(120)]
    answers = [scene.answer() | row for row in rows]
    answers[60]["reason"] = "line\n" * 200
    note = scene.send_order(filled, dentist, laboratory, answers=answers)[1]

    pdf = printing.pdf_of(note)
    text = text_of_pdf(pdf, tmp_path)
    assert text.split().count("line") == 200
    assert all(text.count(f"R{n:03d}") == 1 for n in range(120))
    for page in range(1, pages_of(pdf) + 1):
        part = text_of_pdf(pdf, tmp_path, "-f", str(page), "-l", str(page))
        if "R0" in part or "R1" in part or "line" in part.split():
            assert "Reason given" in part
