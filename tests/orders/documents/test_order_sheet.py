"""Does the order sheet say everything a work authorization needs, in words that cannot slip?"""

import json

import pytest

from tests import factories
from tests.casework.documents import scene
from tests.orders.documents.sheets import words_of


@pytest.fixture
def sheet(case, dentist, technician, laboratory):
    laboratory.address = "9 Bench Row, Millford"
    laboratory.save()
    scene.fill(case, dentist, technician, note="Keep the emergence flat at 46.")
    return scene.send_order(case, dentist, laboratory)[0]


# The union of what the statutes named in the sheet's file ask for.
REQUIRED = {
    "laboratory": "Bench Four Laboratory",
    "its address": "9 Bench Row, Millford",
    "prescriber": "Dora Dentist",
    "licence number": "licence number L-",
    "patient by code": "50-59 years, female",
    "day written": "written and signed 14 Mar 2026",
    "day wanted": "9 Apr 2026 · rush",
    "unit": "47 lower right second molar Retainer Implant",
    "pontic": "46 lower right first molar Pontic nothing: between its neighbours",
    "joined": "(45-47, joined)",
    "material": "Zirconia, class or type 4",
    "product and quality": "Invented Zirconia Four , zirconium oxide, yttrium oxide",
    "shade": "N3 , N2",
    "gum shade": "G1 (wanted)",
    "retention": "Retention Screw",
    "occlusion": "Group function",
    "grinding": "Suspected",
    "pontic form": "Ovate",
    "allergies": "Allergies nickel",
    "implant": "Invented Hex Line , connection inner hex , platform RP",
    "dimensions": "platform 4.10 mm, body 4.00 mm, length 10.00 mm",
    "lot": "IL-001",
    "healing abutment": "3.50 mm",
    "level": "implant level, not engaging, abutment and restoration",
    "scan body": "SB-41 scan body 4.1 SL-001 3 10.0 N·cm, Torque wrench 12 Mar 2026",
    "seating": "connection in plain sight ( Dora Dentist )",
    "bite": "Maximum intercuspation, taken 12 Mar 2026",
    "teeth": "41-44",
    "note": "Keep the emergence flat at 46.",
    "file": "-45-47-working-arch-scan-bodies-1.ply, 1 234 000 bytes",
    "its digest": "9" * 64,
    "sentence signed": "“I prescribe this work as described in prescription 1.”",
    "signature": "Dora Dentist , dentist, licence number L-4711",
    "caution": "Wrong site",
    "notation": "Tooth numbers: ISO 3950",
    "fee": "estimate 4",
    "invented": "A paper of invented parties",
}


def test_the_sheet_says_all_of_it(sheet):
    text = words_of(sheet)

    missing = {what: words for what, words in REQUIRED.items() if words not in text}
    assert missing == {}


def test_others_who_work_on_it_are_named(case, dentist, technician, laboratory):
    scene.fill(case, dentist, technician)
    scene.seat_scan_centre(case, factories.make_party("scan_centre", name="Scans at the Gate"))

    sheet = scene.send_order(case, dentist, laboratory)[0]
    assert "Scan centre Scans at the Gate" in words_of(sheet)


def test_the_sheet_never_names_the_patient_or_a_file_as_uploaded(sheet):
    assert "Quirina" not in sheet.facts and "Testperson" not in sheet.facts
    assert sheet.personal is None


def test_real_parties_are_not_called_invented(case, dentist, technician, laboratory, practice):
    type(practice).objects.update(is_invented=False)
    for row in (case.order.practice, dentist.party, technician.party, laboratory):
        row.is_invented = False
    scene.fill(case, dentist, technician)

    assert "invented parties" not in words_of(scene.send_order(case, dentist, laboratory)[0])


def test_the_frozen_facts_are_canonical(sheet):
    from orders.canonical import digest_of_bytes, text_of

    assert text_of(json.loads(sheet.facts)) == sheet.facts
    assert digest_of_bytes(sheet.facts.encode()) == sheet.facts_digest
