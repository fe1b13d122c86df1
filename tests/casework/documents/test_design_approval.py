"""Does a design approval say which version of which files was approved, knowing what?"""

import pytest

from casework.documents.issuing import issue_papers
from tests.casework.documents import scene
from tests.orders.documents.sheets import words_of


@pytest.fixture
def approval(case, dentist, technician, laboratory):
    scene.fill(case, dentist, technician)
    return scene.approve(case, dentist, laboratory)[0]


def test_it_names_version_digest_parts_and_material(approval):
    text = words_of(approval)

    for words in (
        f"Design version 2 , made by Timo Bench , 14 Mar 2026, 09:30 (UTC) {'d' * 64}",
        "Channel at 45 turned by 10 degrees.",
        "Bridge 45-47 Invented Zirconia Four file 4,",
        "4" * 64,
        "Base 45 – TB-41 base 4.1",
    ):
        assert words in text


def test_what_was_not_measured_stands_with_its_answer(approval):
    assert f"version 2 {scene.ASK} {scene.REASON} Dora Dentist" in words_of(approval)


def test_the_signature_names_person_licence_sentence_and_digests(approval, case):
    text = words_of(approval)

    for words in ("Dora Dentist , dentist, licence number L-4711", "“I prescribe", "5" * 64):
        assert words in text
    assert case.handoffs.get(move="approve_design").manifest_digest in text


def test_no_file_is_named_as_it_was_uploaded(approval):
    assert "Testperson" not in approval.facts


def test_a_voided_signature_does_not_stand_on_it(case, dentist, technician, laboratory):
    scene.fill(case, dentist, technician)
    handoff, move = scene.hand_over(
        case, dentist, laboratory, move="approve_design", source="design approval", signed=True
    )
    handoff.signatures.update(voided_at=scene.AT, void_reason="reopened")

    (approval,) = issue_papers(handoff, move, by=dentist, at=scene.AT)
    assert "Not signed." in words_of(approval)
