"""Does a delivery record say what was left in the mouth, and the patient's copy whom to ask?"""

import pytest

from orders.documents import printing
from tests.casework.documents import scene
from tests.orders.documents.sheets import pages_of, words_of


@pytest.fixture
def record(case, dentist, technician):
    scene.fill(case, dentist, technician)
    return scene.deliver(case, dentist)[0]


def test_every_screw_stands_with_part_lot_driver_and_both_torques(record):
    text = words_of(record)

    for site in ("45", "47"):
        assert (
            f"{site} RS-41 retaining screw 4.1 lot RL-5 driver DR-100 35.0 N·cm 35.0 N·cm"
            " 14 Mar 2026, 09:30 (UTC) 35.0 N·cm 14 Mar 2026, 09:30 (UTC) tape and composite"
        ) in text


def test_material_lots_parcels_bite_baseline_and_instructions_stand_on_it(record):
    text = words_of(record)

    for words in (
        "Invented Zirconia Four , lot ZL-77 , ZC-77-2026",
        "Delivered 8 Apr 2026 by Dora Dentist",
        "Cement none",
        "Bite after delivery even, foil held by all",
        "no radiograph: radiograph of last month shows it",
        "Instructions given yes",
        "Implant record given yes",
        "Bench Four Laboratory Own driver 14 Mar 2026, 09:30 (UTC) RL-5, ZL-77",
    ):
        assert words in text


def test_the_patients_copy_says_what_is_in_the_mouth_and_whom_to_ask(record):
    copy = words_of(record).partition("For the patient")[2]

    for words in (
        "Quirina Testperson , born 2 Apr 1968",
        "Practice Under the Lime",
        "45 , lower right second premolar: a crown joined to the one beside it, on an implant",
        "4.10 mm, 4.00 mm, 10.00 mm IL-001 (01)09999999999994(10)IL",
        "45 RS-41 retaining screw 4.1 RL-5 35.0 N·cm",
        "Bridge 45-47 Invented Zirconia Four ZL-77",
        "Call the practice soon",
    ):
        assert words in copy


def test_the_name_is_in_the_print_but_in_nothing_that_is_hashed(record):
    assert record.personal == {"name": "Quirina Testperson", "birth_date": "1968-04-02"}
    assert "Quirina" not in record.facts
    record.personal = None
    assert "Quirina" not in words_of(record)


def test_the_patients_copy_begins_a_page(record):
    assert pages_of(printing.pdf_of(record)) == 3


def test_cement_stands_with_the_look_for_excess(case, dentist, technician):
    scene.fill(case, dentist, technician)
    delivery = case.delivery
    delivery.cement, delivery.excess_checked = "temporary cement", True
    delivery.excess_checked_how = "floss and radiograph"
    delivery.save()

    text = words_of(scene.deliver(case, dentist)[0])
    assert "temporary cement ; excess looked for: yes, floss and radiograph" in text
