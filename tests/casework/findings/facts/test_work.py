"""Do the facts say what stands at the bench and at the chair?"""

from datetime import UTC, date, datetime

import pytest

from casework.designs.models import DesignPart, DesignVersion
from casework.fabrication.models import Parcel, ParcelLine, Part
from casework.findings.facts import fetch_facts
from casework.findings.facts.work import with_verified
from casework.handoffs.models import Condition, Handoff, Signature
from casework.questions.models import Question
from casework.stages import Stage, find_move
from casework.visits.models import Delivery, FollowUp, ScrewRecord, TryIn
from orders.canonical import digest_of
from orders.catalogue.models import Material
from orders.records import save_record
from tests.casework.checks.good import good
from tests.casework.findings.filled import make_component, make_file

TO_TRY_IN = find_move(Stage.FABRICATION, "dispatch_for_try_in")
TO_DELIVERY = find_move(Stage.FABRICATION, "dispatch_for_delivery")
TODAY = date(2026, 6, 1)
NOW = datetime(2026, 6, 1, 9, 0, tzinfo=UTC)


def fact(case, name, move=TO_TRY_IN):
    return fetch_facts(case, move, [name], on=TODAY)[name]


def make_handoff(case, by, move, state="made", **fields):
    return Handoff.objects.create(
        case=case,
        number=case.handoffs.count() + 1,
        move=move,
        source="fabrication",
        target="try-in",
        from_party=by.party,
        state=state,
        offered_by=by,
        offered_at=NOW,
        **fields,
    )


@pytest.fixture
def version(case, technician):
    version = DesignVersion.objects.create(
        case=case, number=1, made_by=technician, made_at=NOW, notes="As agreed."
    )
    file = make_file(case, technician, "design_part", sites=["45"], values={"is_closed": True})
    zirconia = Material.objects.create(
        name="Invented zirconia", family="zirconia", strength_class=5, source="invented"
    )
    DesignPart.objects.create(
        version=version, kind="crown", sites=["45"], evidence=file, material=zirconia
    )
    DesignPart.objects.create(
        version=version, kind="base", sites=["45"], component=make_component("base", "B-1")
    )
    return version


def make_part(case, by, kind="crown", sites=("45",), **fields):
    return save_record(
        Part(case=case, kind=kind, sites=list(sites), **fields), by=by, case=case.code
    )


def make_parcel(case, technician, practice, part, **fields):
    parcel = Parcel(
        case=case,
        from_party=technician.party,
        to_party=practice,
        **({"move": TO_TRY_IN.name} | fields),
    )
    save_record(parcel, by=technician, case=case.code)
    ParcelLine.objects.create(parcel=parcel, part=part)
    return parcel


def test_design_has_the_fields_that_checks_are_tested_with(case, version):
    found = fact(case, "design")

    assert set(found) == set(good()["design"])
    assert set(found["parts"][0]) == set(good()["design"]["parts"][0])
    assert found["parts"][0]["integrity"]["is_closed"] is True
    assert found["parts"][1]["component_kind"] == "base"


def test_design_is_read_as_it_stands(case, version):
    before = fact(case, "design")["digest_now"]

    version.parts.filter(kind="base").delete()
    assert fact(case, "design")["digest_now"] != before


def test_only_an_approval_in_force_is_signed(case, version, dentist):
    signature = Signature.objects.create(
        case=case,
        handoff=make_handoff(case, dentist, "approve_design"),
        by=dentist,
        by_name="Dora Dentist",
        role="dentist",
        sentence="I approve.",
        manifest_digest="",
        subject=version.subject,
        subject_digest="d" * 64,
        at=NOW,
    )
    assert fact(case, "design")["signed_digest"] == "d" * 64

    signature.voided_at = NOW
    signature.save()
    assert fact(case, "design")["signed_digest"] is None


def test_parts_have_the_fields_and_those_replaced_are_left_out(case, technician):
    make_part(case, technician, place="replaced")
    kept = make_part(case, technician, made_by=technician)

    (found,) = fact(case, "parts")
    assert found["id"] == kept.pk and found["made_by_id"] == technician.pk
    assert set(good()["parts"][0]) <= set(found)
    assert len(digest_of(found)) == 64


def test_parcel_of_the_move_under_way(case, technician, practice):
    part = make_part(case, technician)
    make_parcel(case, technician, practice, part)

    found = fact(case, "parcel")
    assert set(good()["parcel"]) <= set(found)
    assert found["lines"][0]["part_id"] == part.pk and not found["arrived"]
    assert fact(case, "parcel", TO_DELIVERY) is None


@pytest.mark.parametrize("ended", ["accepted", "returned", "withdrawn"])
def test_a_parcel_of_an_earlier_dispatch_is_none(case, technician, practice, ended):
    part = make_part(case, technician)
    handoff = make_handoff(case, technician, TO_TRY_IN.name, ended, to_party=practice)
    make_parcel(case, technician, practice, part, handoff=handoff, arrived_at=NOW)

    assert fact(case, "parcel") is None


def test_the_parcel_of_an_open_offer_is_under_way(case, technician, practice):
    part = make_part(case, technician)
    handoff = make_handoff(case, technician, TO_TRY_IN.name, "offered", to_party=practice)
    make_parcel(case, technician, practice, part, handoff=handoff, arrived_at=NOW)

    assert fact(case, "parcel")["arrived"] is True


def test_a_parcel_taken_back_is_none(case, technician, practice):
    make_parcel(case, technician, practice, make_part(case, technician), state="taken back")

    assert fact(case, "parcel") is None


@pytest.mark.parametrize(
    ("moves", "passed"),
    [
        ([], False),
        (["pass_try_in"], True),
        (["pass_try_in", "return_to_finish"], True),
        (["pass_try_in", "reopen_design"], False),
        (["pass_try_in", "return_to_redesign"], False),
        (["pass_try_in", "rescan_after_try_in", "pass_try_in"], True),
    ],
    ids=lambda value: str(value),
)
def test_a_passed_try_in_counts_until_the_work_is_designed_anew(case, dentist, moves, passed):
    for name in moves:
        make_handoff(case, dentist, name)

    assert fact(case, "try_ins")["is_passed"] is passed


def test_try_ins_say_which_is_due(case, dentist):
    case.try_in_count = 2
    save_record(
        TryIn(case=case, number=1, on=TODAY, by="Dr. A", seated="yes"),
        by=dentist,
        case=case.code,
    )

    found = fact(case, "try_ins")
    assert found["due_number"] == 2 and found["rows"][0]["seated"] == "yes"
    assert set(good()["try_ins"]["rows"][0]) == set(found["rows"][0])


def test_records_of_the_chair_have_the_fields_that_checks_are_tested_with(case, dentist):
    screw = make_component("retaining screw", "RS-1", torque_ncm="25")
    for row in (
        ScrewRecord(case=case, site="45", component=screw, lot="P2", tightened_at=NOW),
        Delivery(case=case, on=TODAY, by="Dr. A"),
        FollowUp(case=case, name="1 week", due_on=TODAY),
    ):
        save_record(row, by=dentist, case=case.code)

    assert set(good()["screws"][0]) <= set(fact(case, "screws")[0])
    assert fact(case, "screws")[0]["torque_told_ncm"] == 25
    assert set(good()["delivery"]) == set(fact(case, "delivery"))
    assert set(good()["follow_ups"][0]) == set(fact(case, "follow_ups")[0])


def test_conditions_and_questions(case, dentist, technician):
    handoff = make_handoff(case, dentist, "send_order", "accepted")
    Condition.objects.create(handoff=handoff, text="Shade?", before_move="send_to_milling")
    Question.objects.create(
        case=case,
        number=1,
        text="Which tab?",
        about="shade",
        asked_by=technician,
        asked_at=NOW,
        to_party=dentist.party,
    )

    assert fact(case, "conditions") == [
        {"text": "Shade?", "before_move": "send_to_milling", "is_met": False}
    ]
    assert fact(case, "questions")[0]["is_open"] is True


def test_stock_parts_of_the_design_are_parts_to_be_known(case, version):
    assert fact(case, "components") == [
        {
            "what": "base",
            "site": "45",
            "part_number": "B-1",
            "dimensions": {},
            "source": "invented",
        }
    ]


def test_only_technicians_at_work_are_counted(case, technician, second_technician, lab_lead):
    assert fact(case, "members") == {"laboratory_technician_count": 2}

    second_technician.is_active = False
    second_technician.save()
    assert fact(case, "members") == {"laboratory_technician_count": 1}


def test_move_under_way(case):
    assert fact(case, "move") == {
        "name": "dispatch_for_try_in",
        "source": "fabrication",
        "parts_travel": True,
    }


def test_verified_bytes_are_set_beside_the_manifest():
    manifest = {
        "is_verified": False,
        "files": [
            {"number": 1, "sha256": "a", "stored_sha256": None},
            {"number": 2, "sha256": "b", "stored_sha256": None},
        ],
    }

    found = with_verified(manifest, {"1": "a"})
    assert found["is_verified"] is True
    assert [file["stored_sha256"] for file in found["files"]] == ["a", None]
    assert manifest["files"][0]["stored_sha256"] is None
