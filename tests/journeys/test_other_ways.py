"""The other ways a case may go: scan centre, milling, back, lost, and to its very end."""

from datetime import timedelta
from decimal import Decimal

import pytest

from casework.audit.queries import first_break
from casework.cases.services import choose_party
from casework.demo.scenario import component
from casework.evidence.receiving import Slot, receive_file
from casework.fabrication import services as fabrication
from casework.handoffs.models import Signature
from casework.handoffs.offers import accept_offer, return_offer
from casework.handoffs.services import make_move
from casework.stages import Side, Stage
from casework.visits.services import record_follow_up

pytestmark = pytest.mark.slow


def accept(story, key, day, **fields):
    handoff = story.case.handoffs.get(state="offered")
    story.gate(handoff.move, story.who(key), story.at(day), for_acceptance=True)
    accept_offer(handoff, by=story.who(key), at=story.at(day), **fields)
    story.case.refresh_from_db()
    return handoff


def test_raw_scans_go_through_the_scan_centre_and_come_back(tell):
    story = tell("crown", "prescribe")
    choose_party(
        story.case,
        side=Side.SCAN_CENTRE,
        party=story.cast.parties["scans"],
        by=story.who("dentist"),
    )
    story.move("send_scans", by="assistant", day=2, hour=11)
    accept(story, "processor", 3)
    assert story.case.stage == Stage.SCAN_PROCESSING

    raw = story.case.evidence.filter(role="working_arch").get()
    path = next(row.path for row in story.files.scans if row.role == "working_arch")
    data = path.read_bytes()
    from io import BytesIO

    for evidence in story.case.evidence.filter(
        role__in=["working_arch_scan_bodies", "working_arch", "opposing_arch", "bite_scan"]
    ):
        source = next(r.path for r in story.files.scans if r.role == evidence.role)
        receive_file(
            story.case,
            by=story.who("processor"),
            stream=BytesIO(source.read_bytes()),
            name=source.name,
            slot=Slot(
                role=evidence.role,
                jaw=evidence.jaw,
                sites=tuple(evidence.sites),
                taken_on=evidence.taken_on,
                made_from=evidence,
            ),
            at=story.at(4),
        )
    story.finish_jobs()
    assert data and raw.processed.count() == 1
    story.move("return_scans", by="processor", day=4)
    accept(story, "dentist", 5)

    assert story.case.stage == Stage.SCAN_CAPTURE
    story.move("send_order", by="dentist", day=5, hour=11)
    story.accept_order()
    assert story.case.stage == Stage.DESIGN


def test_parts_go_to_the_mill_and_come_back_with_their_lots(tell):
    story = tell("crown", "approve_design")
    technician, miller = story.who("technician"), story.who("miller")
    choose_party(
        story.case,
        side=Side.MILLING_CENTRE,
        party=story.cast.parties["mill"],
        by=technician,
    )
    story.move("send_to_milling", by="technician", day=8)
    accept(story, "miller", 8)
    assert story.case.stage == Stage.MILLING

    crown = story.case.work_parts.get(kind="crown")
    fabrication.record_part(
        crown,
        by=miller,
        material_lot=story.lot_of(crown, miller),
        milling_record="mill 9, run 4",
        made_by=miller,
        made_on=story.at(9).date(),
        at=story.at(9),
    )
    crown.refresh_from_db()
    fabrication.disinfect_parts(story.case, by=miller, parts=[crown], at=story.at(9))
    fabrication.pack_parcel(
        story.case,
        by=miller,
        move="return_milled",
        parts=[crown],
        courier="Invented Courier",
        tracking="IC-9",
        expected_on=story.at(10).date(),
        disinfected=True,
        at=story.at(9),
    )
    story.move("return_milled", by="miller", day=9)
    parcel = story.case.parcels.get(move="return_milled")
    crown.refresh_from_db()
    fabrication.count_parcel(
        parcel, by=technician, lines=[(crown, True, True)], at=story.at(10)
    )
    accept(story, "technician", 10)

    crown.refresh_from_db()
    assert story.case.stage == Stage.FABRICATION
    assert crown.material_lot.owner == miller.party
    assert crown.place == "at laboratory"


def send_back(story, name, *, day):
    by, at = story.who("dentist"), story.at(day, 13)
    parts = list(story.case.work_parts.filter(kind="crown"))
    fabrication.disinfect_parts(story.case, by=by, parts=parts, at=at)
    fabrication.pack_parcel(
        story.case,
        by=by,
        move=name,
        parts=parts,
        courier="Invented Courier",
        expected_on=story.at(day + 1).date(),
        disinfected=True,
        at=at,
    )
    story.gate(name, by, at)
    make_move(story.case, name=name, by=by, reason="Contact too tight at 37.", at=at)
    parcel = story.case.parcels.order_by("-pk").first()
    technician = story.who("technician")
    fabrication.count_parcel(
        parcel,
        by=technician,
        lines=[(line.part, True, True) for line in parcel.lines.all()],
        at=story.at(day + 1),
    )
    accept(story, "technician", day + 1)


def test_returned_to_finish_the_approval_is_kept_and_the_case_comes_again(tell):
    story = tell("crown", "try_in")

    send_back(story, "return_to_finish", day=18)

    assert story.case.stage == Stage.FABRICATION
    signature = Signature.objects.get(handoff__move="approve_design")
    assert signature.voided_at is None
    screw = story.case.work_parts.get(kind="retaining screw")
    assert screw.place in ("at practice", "tried in")
    crown = story.case.work_parts.get(kind="crown")
    at = story.at(20)
    fabrication.inspect_part(crown, by=story.who("second"), note="contact eased", at=at)
    crown.refresh_from_db()
    fabrication.disinfect_parts(story.case, by=story.who("technician"), parts=[crown], at=at)
    fabrication.pack_parcel(
        story.case,
        by=story.who("technician"),
        move="dispatch_for_try_in",
        parts=[crown],
        courier="Invented Courier",
        tracking="IC-2",
        expected_on=story.at(21).date(),
        disinfected=True,
        has_statement=True,
        at=at,
    )
    story.move("dispatch_for_try_in", by="technician", day=20, hour=15)
    parcel = story.case.parcels.order_by("-pk").first()
    fabrication.count_parcel(
        parcel, by=story.who("desk"), lines=[(crown, True, True)], at=story.at(21)
    )
    accept(story, "desk", 21)
    assert story.case.stage == Stage.TRY_IN
    assert story.case.try_in_count == 2


def test_returned_to_redesign_the_approval_loses_its_force(tell):
    story = tell("crown", "try_in")

    send_back(story, "return_to_redesign", day=18)

    assert story.case.stage == Stage.DESIGN
    assert Signature.objects.get(handoff__move="approve_design").voided_at is not None


def test_a_lost_parcel_leads_back_as_that(tell):
    story = tell("crown", "book_try_in")
    desk = story.who("desk")
    parcel = story.case.parcels.get()
    fabrication.report_lost(
        parcel, by=desk, note="The courier cannot find it since Tuesday.", at=story.at(16)
    )

    return_offer(
        story.case.handoffs.get(state="offered"),
        by=desk,
        reasons=[("The parcel was lost on its way.", "record only", "")],
        at=story.at(16),
    )

    story.case.refresh_from_db()
    assert story.case.stage == Stage.FABRICATION
    assert set(story.case.work_parts.values_list("place", flat=True)) == {"lost"}
    remade = fabrication.remake_part(
        story.case.work_parts.get(kind="crown"),
        by=story.who("technician"),
        reason="lost in transit",
        at=story.at(17),
    )
    assert remade.place == "at laboratory"


def test_after_the_first_year_the_case_is_closed(tell):
    story = tell("crown", "follow_up", days_ago=420)
    by = story.who("assistant")
    for visit in story.case.follow_ups.filter(done_on=None).order_by("due_on"):
        record_follow_up(
            visit,
            by=by,
            done_on=visit.due_on,
            readings=[
                {
                    "site": "36",
                    "quantity": "bone_level_mm",
                    "value": Decimal("0.8"),
                    "direction": "mesial",
                    "measured_by": by.person.name,
                }
            ],
            outcome="fine",
            bite="yes",
            screws_tight="yes",
            chipping="no",
            at=story.begun_at + timedelta(days=(visit.due_on - story.begun_at.date()).days + 1),
        )

    story.move("close", by="dentist", day=400)

    assert story.case.stage == Stage.CLOSED
    assert story.case.closed_at is not None
    assert first_break() is None


def test_a_screw_that_does_not_fit_the_implant_stops_the_design(tell):
    story = tell("crown", "accept_order")
    story.design()
    version = story.case.designs.get()
    from casework.designs.services import add_stock_part, remove_part

    base = version.parts.get(kind="base")
    remove_part(base, by=story.who("technician"))
    add_stock_part(
        version,
        by=story.who("technician"),
        kind="base",
        sites=["36"],
        component=component("N-TB-N"),
    )

    standing = story.gate("submit_design", story.who("technician"), story.at(6))

    assert "design_matches_order" in [finding.check for finding in standing.stops]
