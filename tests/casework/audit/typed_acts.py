"""Where does a person type text about a case? Every act, by the step after which it may be.

Written by hand from the pages, field by field: a text that is missing here is not looked at.
"""

from datetime import date, timedelta

from django.utils import timezone

from casework.cases.services import hold_case, open_case_for
from casework.demo.scenario import component, days
from casework.designs import services as designs
from casework.fabrication import services as fabrication
from casework.fabrication.models import MaterialLot
from casework.findings.queries import standing_of
from casework.findings.services import answer_asks
from casework.handoffs import offers
from casework.handoffs.models import Condition
from casework.handoffs.outcomes import meet_condition
from casework.handoffs.services import make_move
from casework.questions.services import answer_question, ask_question
from casework.readings import services as readings
from casework.records import services as records
from casework.schedule.services import book_visit, move_visit
from casework.stages import find_move
from casework.visits import services as visits
from orders.shades.models import ShadeGuide

WORDS, NAME, CODE = "words", "name", "code"


def after(prepare):
    """Marks an act before which something else must have been done."""

    def mark(act):
        act.prepare = prepare
        return act

    return mark


def open_linked(story, text):
    open_case_for(story.patient, by=story.who("dentist"), link_reason=text)


def hold(story, text):
    on = date(2100, 1, 1)
    hold_case(story.case, by=story.who("dentist"), reason=text, look_again_on=on)


def implant(field):
    def act(story, text):
        by, part = story.who("dentist"), component(next(iter(story.work.implants.values())))
        records.record_implant(story.case, by=by, site="11", component=part, **{field: text})

    return act


def remove_implant(story, text):
    row = story.patient.implants.first()
    records.remove_implant(story.case, by=story.who("dentist"), implant=row, reason=text)


def reading(field):
    def act(story, text):
        told = {
            "site": story.work.sites[0],
            "quantity": "mobility",
            "held": False,
            "measured_on": story.at(0).date(),
            field: text,
        }
        readings.record_readings(story.case, by=story.who("dentist"), readings=[told])

    return act


def change_reading(story, text):
    row = story.case.readings.first()
    readings.change_reading(story.case, by=story.who("dentist"), reading=row, note=text)


def remove_reading(story, text):
    row = story.case.readings.first()
    readings.remove_reading(story.case, by=story.who("dentist"), reading=row, reason=text)


def scan_body(field):
    def act(story, text):
        row = story.case.scan_bodies.first()
        said = {"seating_reason": "Seen by eye.", "seating_by": "Nora Prescriber", field: text}
        readings.record_scan_body(
            story.case,
            by=story.who("dentist"),
            scan_body=row,
            site=row.site,
            component=row.component,
            radiograph=None,
            **said,
        )

    return act


def remove_scan_body(story, text):
    row = story.case.scan_bodies.first()
    readings.remove_scan_body(story.case, by=story.who("dentist"), scan_body=row, reason=text)


def bite(field):
    def act(story, text):
        readings.record_bite(story.case, by=story.who("dentist"), **{field: text})

    return act


def shade(field):
    def act(story, text):
        by = story.who("dentist")
        guide = ShadeGuide.objects.get(owner=by.party, name="Invented guide")
        records.record_shade(story.case, by=by, guide=guide, **{field: text})

    return act


def prescription(field):
    def act(story, text):
        draft = story.case.order.prescriptions.get(state="draft")
        # A material of the catalogue would say the family itself.
        said = {"material": None, field: text}
        records.write_prescription(
            story.case, by=story.who("dentist"), prescription=draft, **said
        )

    return act


def move(name, by, day):
    def act(story, text):
        make_move(
            story.case,
            name=name,
            by=story.who(by),
            reason=text,
            password=story.cast.password,
            at=story.at(day, 12),
        )

    return act


def _check_approval(story):
    story.gate("approve_design", story.who("dentist"), story.at(7))


@after(_check_approval)
def ask_for_changes(story, text):
    move("ask_for_changes", "dentist", 7)(story, text)


def _check_order(story):
    story.gate("send_order", story.who("dentist"), story.at(2))


@after(_check_order)
def answer_ask(story, text):
    by, at = story.who("dentist"), story.at(2)
    gate = find_move(story.case.stage, "send_order")
    key = standing_of(story.case, gate, on=at.date()).asks[0].key
    answer_asks(story.case, move=gate, reasons={key: text}, by=by, at=at)


@after(_check_order)
def send_order(story, text):
    move("send_order", "dentist", 2)(story, text)


def _offer(story):
    return story.case.handoffs.get(state="offered")


def withdraw(story, text):
    offers.withdraw_offer(_offer(story), by=story.who("dentist"), reason=text)


@after(_check_order)
def amend(story, text):
    password, at = story.cast.password, story.at(2, 12)
    offers.amend_offer(
        _offer(story), by=story.who("dentist"), reason=text, password=password, at=at
    )


def give_back(place):
    def act(story, text):
        row = ["The shade is missing.", "record only", ""]
        row[place] = text
        offers.return_offer(_offer(story), by=story.who("technician"), reasons=[tuple(row)])

    return act


def _check_offer(story):
    story.gate("send_order", story.who("technician"), story.at(3), for_acceptance=True)


@after(_check_offer)
def accept_on_condition(story, text):
    offers.accept_offer(
        _offer(story),
        by=story.who("technician"),
        promised_on=date(2100, 1, 4),
        conditions=[(text, "send_to_milling")],
        at=story.at(3),
    )


def _make_condition(story):
    Condition.objects.create(
        handoff=story.case.handoffs.get(move="send_order"),
        text="The shade comes later.",
        before_move="send_to_milling",
    )


@after(_make_condition)
def meet(story, text):
    meet_condition(Condition.objects.get(), by=story.who("dentist"), answer=text)


def ask(story, text):
    ask_question(story.case, by=story.who("technician"), text=text)


@after(lambda story: ask(story, "Which shade?"))
def answer(story, text):
    answer_question(story.case.questions.get(), by=story.who("dentist"), text=text)


def start_design(story, text):
    designs.start_version(story.case, by=story.who("technician"), notes=text)


def note_design(story, text):
    version = designs.current_version(story.case)
    designs.save_notes(version, by=story.who("technician"), notes=text)


def discard_design(story, text):
    version = designs.current_version(story.case)
    designs.discard_version(version, by=story.who("technician"), reason=text)


def mark_design(story, text):
    designs.mark_version(
        designs.current_version(story.case), by=story.who("dentist"), text=text
    )


def part(kind, field):
    def act(story, text):
        row = story.case.work_parts.filter(kind=kind).first()
        fabrication.record_part(row, by=story.who("technician"), **{field: text})

    return act


def _enter_lots(story):
    by, row = story.who("technician"), story.case.work_parts.get(kind="crown")
    for lot in ("TESTPERSON", "T-1"):
        fabrication.enter_material_lot(by=by, material=row.design_part.material, lot=lot)


@after(_enter_lots)
def material_lot(story, text):
    by, row = story.who("technician"), story.case.work_parts.get(kind="crown")
    lot = MaterialLot.objects.get(owner=by.party, lot=text)
    fabrication.record_part(row, by=by, material_lot=lot)


def inspect(story, text):
    row = story.case.work_parts.filter(kind="crown").first()
    fabrication.inspect_part(row, by=story.who("second"), note=text)


def remake(story, text):
    row = story.case.work_parts.filter(kind="crown").first()
    fabrication.remake_part(row, by=story.who("technician"), reason=text)


def enclose(story, text):
    fabrication.add_enclosure(story.case, by=story.who("technician"), kind="driver", lot=text)


def pack(field):
    def act(story, text):
        at = story.at(12)
        said = {"courier": "Invented Courier", field: text}
        fabrication.pack_parcel(
            story.case,
            by=story.who("technician"),
            at=at,
            move="dispatch_for_try_in",
            parts=story.case.work_parts.exclude(place="replaced"),
            expected_on=days(at, 2).date(),
            **said,
        )

    return act


def _parcel(story):
    return story.case.parcels.order_by("-pk").first()


def lose(story, text):
    fabrication.report_lost(_parcel(story), by=story.who("desk"), note=text)


def count(story, text):
    lines = [(line.part, True, True) for line in _parcel(story).lines.all()]
    fabrication.count_parcel(_parcel(story), by=story.who("desk"), lines=lines, note=text)


def _withdraw_parcel(story):
    by = story.who("technician")
    offers.withdraw_offer(_offer(story), by=by, reason="A part was forgotten.")


@after(_withdraw_parcel)
def take_back(story, text):
    fabrication.take_back_parcel(_parcel(story), by=story.who("technician"), reason=text)


def book(story, text):
    book_visit(
        story.case,
        by=story.who("desk"),
        kind="try-in",
        starts_at=timezone.now() + timedelta(days=30),
        minutes=60,
        reason=text,
    )


def move_booked(story, text):
    row = story.case.appointments.get(kind="try-in")
    move_visit(
        row,
        by=story.who("desk"),
        starts_at=timezone.now() + timedelta(days=30),
        reason=text,
    )


def try_in(field):
    def act(story, text):
        visits.record_try_in(
            story.case,
            by=story.who("dentist"),
            on=story.at(18).date(),
            at=story.at(18, 12),
            seated="yes",
            **{field: text},
        )

    return act


def screw(field):
    def act(story, text):
        visits.record_screw(
            story.case, by=story.who("dentist"), site=story.work.sites[0], **{field: text}
        )

    return act


def delivery(field):
    def act(story, text):
        said = {
            "on": story.at(20).date(),
            "baseline_reason": "Seen at the scan body visit.",
            "cement": "Invented cement",
            "excess_checked": True,
            "excess_checked_how": "floss",
        }
        visits.record_delivery(story.case, by=story.who("dentist"), **said | {field: text})

    return act


def follow_up(field):
    def act(story, text):
        visit = story.case.follow_ups.order_by("due_on").first()
        said = {"done_on": visit.due_on, "outcome": "fine", field: text}
        visits.record_follow_up(visit, by=story.who("dentist"), **said)

    return act


def open_complication(story, text):
    visits.open_linked_case(story.case, by=story.who("dentist"), reason=text)


# Step of the story after which it can be done, what the page calls the field, what kind of
# text it is, and the act.
TYPED_ACTS = [
    ("open", "What happened, and at which site", WORDS, open_linked),
    ("open", "Why the case waits", WORDS, hold),
    ("open", "Reason", WORDS, move("cancel", "dentist", 1)),
    ("open", "How it was identified", WORDS, implant("identified_how")),
    ("open", "Placed by", NAME, implant("placed_by")),
    ("open", "System", NAME, implant("system")),
    ("open", "Connection", NAME, implant("connection")),
    ("open", "Platform", NAME, implant("platform")),
    ("open", "Lot", CODE, implant("lot")),
    ("open", "Device identifier", CODE, implant("identifier")),
    ("open", "Note", WORDS, reading("note")),
    ("open", "Read by", NAME, reading("measured_by")),
    ("record_planning", "Why", WORDS, remove_implant),
    ("record_planning", "Note", WORDS, change_reading),
    ("record_planning", "Why", WORDS, remove_reading),
    ("scan", "Lot", CODE, scan_body("lot")),
    ("scan", "Or seen by a clinician", WORDS, scan_body("seating_reason")),
    ("scan", "Clinician", NAME, scan_body("seating_by")),
    ("scan", "Why", WORDS, remove_scan_body),
    ("scan", "What was seated", WORDS, bite("seated")),
    ("scan", "Pairs that held the foil", WORDS, bite("foil_held_at")),
    ("scan", "Note", WORDS, bite("note")),
    ("scan", "Gum shade", WORDS, shade("gum_shade")),
    ("scan", "Light", WORDS, shade("light")),
    ("scan", "Note", WORDS, shade("note")),
    ("prescribe", "Allergies", WORDS, prescription("allergies")),
    ("prescribe", "Fee or estimate", WORDS, prescription("fee")),
    ("prescribe", "Note to the laboratory", WORDS, prescription("note")),
    ("prescribe", "Reason", WORDS, answer_ask),
    ("prescribe", "Reason", WORDS, send_order),
    ("send_order", "Reason", WORDS, withdraw),
    ("send_order", "What the amendment answers", WORDS, amend),
    ("send_order", "Reason", WORDS, give_back(0)),
    ("send_order", "About", WORDS, give_back(2)),
    ("send_order", "Accepted on condition that", WORDS, accept_on_condition),
    ("accept_order", "How the condition is met", WORDS, meet),
    ("accept_order", "Question", WORDS, ask),
    ("accept_order", "Answer", WORDS, answer),
    ("accept_order", "Notes and questions for the dentist", WORDS, start_design),
    ("design", "Notes and questions for the dentist", WORDS, note_design),
    ("design", "Reason", WORDS, discard_design),
    ("submit_design", "What should be changed", WORDS, mark_design),
    ("submit_design", "Reason", WORDS, ask_for_changes),
    ("approve_design", "Reason", WORDS, move("cancel", "dentist", 8)),
    ("approve_design", "Lot", CODE, part("retaining screw", "lot")),
    ("approve_design", "Milling record", WORDS, part("crown", "milling_record")),
    ("approve_design", "Furnace record", WORDS, part("crown", "furnace_record")),
    ("approve_design", "Material lot", CODE, material_lot),
    ("approve_design", "Lot", CODE, enclose),
    ("make", "What was found", WORDS, inspect),
    ("make", "Reason", WORDS, remake),
    ("make", "Courier", NAME, pack("courier")),
    ("make", "Tracking number", CODE, pack("tracking")),
    ("make", "Note", WORDS, pack("note")),
    ("dispatch", "Note", WORDS, lose),
    ("dispatch", "Note", WORDS, count),
    ("dispatch", "Note", WORDS, take_back),
    ("dispatch", "Reason", WORDS, book),
    ("book_try_in", "Reason", WORDS, move_booked),
    ("receive", "What was adjusted", WORDS, try_in("adjustments")),
    ("receive", "Note", WORDS, try_in("note")),
    ("receive", "By", NAME, try_in("clinician")),
    ("pass_try_in", "Lot", CODE, screw("lot")),
    ("pass_try_in", "Channel closed with", WORDS, screw("channel_closed_with")),
    ("pass_try_in", "By", NAME, delivery("clinician")),
    ("pass_try_in", "Cement", WORDS, delivery("cement")),
    ("pass_try_in", "How", WORDS, delivery("excess_checked_how")),
    ("pass_try_in", "Bite after delivery", WORDS, delivery("bite_after")),
    ("pass_try_in", "or why none was justified", WORDS, delivery("baseline_reason")),
    ("pass_try_in", "Note", WORDS, delivery("note")),
    ("deliver", "Note", WORDS, follow_up("note")),
    ("deliver", "By", NAME, follow_up("clinician")),
    ("deliver", "What happened, and at which site", WORDS, open_complication),
]
