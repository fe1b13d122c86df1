"""How does one case of the demo go, step by step, through the program's own services?"""

from datetime import timedelta
from decimal import Decimal

from casework.cases.services import open_case_for
from casework.demo.scenario import component, days, material
from casework.demo.works import LOWER, UPPER
from casework.designs.services import add_made_part, add_stock_part, start_version
from casework.evidence.receiving import Slot, receive_file
from casework.fabrication import services as fabrication
from casework.fabrication.models import MaterialLot
from casework.findings.queries import standing_of
from casework.findings.services import answer_asks, ask_for_gate
from casework.handoffs.offers import accept_offer
from casework.handoffs.services import make_move
from casework.readings.services import record_bite, record_readings, record_scan_body
from casework.records.services import (
    record_implant,
    record_shade,
    record_teeth,
    write_prescription,
)
from casework.schedule.queries import calendar_of
from casework.schedule.services import book_visit
from casework.stages import find_move
from casework.visits.services import (
    record_delivery,
    record_follow_up,
    record_screw,
    record_try_in,
)
from orders.refusals import Refused
from orders.shades.models import ShadeGuide

REASONS = {
    "parts_measured": (
        "What this program could not measure was looked at on the design screen by two people."
    ),
}
USUAL_REASON = "Seen and accepted for this invented case."


class StoryStopped(Exception):
    """A step of the demo met something that cannot go on; the sentences say what."""


class Story:
    """One case, from its opening as far as it is told. Days count from the opening."""

    def __init__(self, cast, work, patient, files, *, begun_at, finish_jobs, say=None):
        self.cast, self.work, self.patient, self.files = cast, work, patient, files
        self.begun_at, self.finish_jobs = begun_at, finish_jobs
        self.say = say or (lambda stage, sentence: None)
        self.case, self.found = None, []

    def at(self, day, hour=9):
        return (self.begun_at + timedelta(days=day)).replace(hour=hour, minute=0)

    def who(self, key):
        return self.cast.members[key]

    # Each step is one act of somebody; the order is that of a case.
    STEPS = (
        "open",
        "record_planning",
        "ready_to_scan",
        "scan",
        "prescribe",
        "send_order",
        "accept_order",
        "design",
        "submit_design",
        "approve_design",
        "make",
        "dispatch",
        "book_try_in",
        "receive",
        "try_in",
        "pass_try_in",
        "deliver",
        "follow_up",
    )

    def run_to(self, last):
        """Tell the story up to and including the step `last`."""
        for step in self.STEPS[: self.STEPS.index(last) + 1]:
            getattr(self, step)()
        return self

    def open(self):
        self.case = open_case_for(
            self.patient,
            by=self.who("dentist"),
            laboratory=self.cast.parties["laboratory"],
            at=self.at(0),
        )
        self.say("planning", f"case {self.case.code}: {self.work.title}")

    def record_planning(self):
        by, at = self.who("dentist"), self.at(0)
        placed_on = days(at, -120).date()
        for number, (site, part) in enumerate(self.work.implants.items(), 1):
            record_implant(
                self.case,
                by=by,
                at=at,
                site=site,
                component=component(part),
                lot=f"DEMO{number:03}{site}",
                placed_on=placed_on,
                placed_by=self.who("surgeon").person.name,
                soft_tissue="healthy",
                healing_abutment_height_mm=Decimal("4.0"),
            )
        record_readings(
            self.case,
            by=by,
            at=at,
            readings=[
                {
                    "site": site,
                    "quantity": "stability_quotient",
                    "value": Decimal(value),
                    "direction": direction,
                    "measured_on": at.date(),
                    "measured_by": by.person.name,
                }
                for site in self.work.sites
                for direction, value in (("buccal", 74), ("mesial", 72))
            ],
        )
        present = [t for t in LOWER + UPPER if t not in self.work.teeth]
        record_teeth(self.case, by=by, at=at, present=present, checked_on=at.date())

    def ready_to_scan(self):
        self.move("ready_to_scan", by="dentist", day=1)

    def scan(self):
        by, at = self.who("assistant"), self.at(2)
        sites = list(self.work.sites)
        for site in self.work.sites:
            told = {
                "lot": f"SB{site}7",
                "use_count": 3,
                "torque_ncm": Decimal("5"),
                "tightened_how": "torque wrench",
                "placed_on": at.date(),
            }
            file = self.upload(
                self.files.radiograph(site, at.date()), by, at, "radiograph", "", [site]
            )
            record_scan_body(
                self.case,
                by=by,
                at=at,
                site=site,
                component=component(self.work.scan_body),
                radiograph=file,
                **told,
            )
        for row in self.files.scans:
            self.upload(row.path, by, at, row.role, row.jaw, list(row.sites))
        self.upload(self.files.photo(1, at.date()), by, at, "shade_photograph", "", sites)
        self.upload(self.files.photo(2, at.date()), by, at, "photograph", "", [])
        record_bite(
            self.case,
            by=by,
            at=at,
            position="maximum intercuspation",
            seated="scan bodies out, healing abutments in",
            support_behind=True,
            taken_on=at.date(),
        )
        record_shade(
            self.case,
            by=by,
            at=at,
            guide=ShadeGuide.objects.get(owner=by.party, name="Invented guide"),
            cervical="M2",
            body="M1",
            incisal="L3",
            light="daylight lamp",
            light_k=5500,
            taken_before_drying=True,
            taken_on=at.date(),
        )
        self.finish_jobs()
        count = self.case.evidence.filter(state="readable").count()
        self.say("scan capture", f"{count} files received, inspected and readable")

    def upload(self, path, by, at, role, jaw, sites):
        with path.open("rb") as stream:
            slot = Slot(role=role, jaw=jaw, sites=tuple(sites), taken_on=at.date())
            return receive_file(
                self.case, by=by, stream=stream, name=path.name, slot=slot, at=at
            ).evidence

    def prescribe(self):
        by = self.who("dentist")
        calendar = calendar_of(by.party)
        write_prescription(
            self.case,
            by=by,
            prescription=self.case.order.prescriptions.get(state="draft"),
            units=self.work.prescribed_units(),
            sites=self.work.prescribed_sites(),
            material=material(self.work.material),
            material_family=material(self.work.material).family,
            strength_class=material(self.work.material).strength_class,
            wanted_on=calendar.add_working_days(self.at(2).date(), 15),
            **self.work.fields,
        )

    def send_order(self):
        self.move("send_order", by="dentist", day=2, hour=11)

    def accept_order(self):
        by, at = self.who("technician"), self.at(3)
        handoff = self.case.handoffs.get(state="offered")
        self.gate("send_order", by, at, for_acceptance=True)
        promised_on = calendar_of(by.party).add_working_days(self.at(12).date(), 1)
        accept_offer(handoff, by=by, promised_on=promised_on, at=at)
        self.case.refresh_from_db()
        self.say("design", f"accepted; manifest verified file by file, promised {promised_on}")

    def design(self):
        by, at = self.who("technician"), self.at(5)
        version = start_version(
            self.case,
            by=by,
            at=at,
            notes="Emergence follows the scanned mucosa. Please look at the contacts.",
        )
        files = [
            (row, self.upload(row.path, by, at, "design_part", row.jaw, list(row.sites)))
            for row in self.files.parts
        ]
        self.finish_jobs()
        for row, file in files:
            file.refresh_from_db()
            name = (
                "Invented titanium alloy"
                if row.part == "custom abutment"
                else self.work.material
            )
            add_made_part(
                version,
                by=by,
                kind=row.part,
                sites=list(row.sites),
                evidence=file,
                material=material(name),
                at=at,
            )
        # Stock parts of an earlier version come along.
        there = {(part.kind, *part.sites) for part in version.parts.all()}
        for site in self.work.sites:
            stock = [("retaining screw", "N-RS"), ("try-in screw", "N-TS")]
            if self.work.base:
                stock.append(("base", self.work.base))
            for kind, number in stock:
                if (kind, site) not in there:
                    part = component(number)
                    add_stock_part(
                        version, by=by, kind=kind, sites=[site], component=part, at=at
                    )

    def submit_design(self):
        self.move("submit_design", by="technician", day=6)

    def approve_design(self):
        self.move("approve_design", by="dentist", day=7)

    def make(self):
        by, at = self.who("technician"), self.at(11)
        for part in self.case.work_parts.exclude(place="replaced"):
            if part.kind in fabrication.rules.MADE:
                told = {
                    "material_lot": self.lot_of(part, by),
                    "milling_record": "mill 2, run 118",
                    "made_by": by,
                    "made_on": at.date(),
                }
                if part.kind != "custom abutment":
                    told["furnace_record"] = "furnace 1, programme 7"
            else:
                told = {
                    "lot": f"L{part.pk:05}",
                    "is_sealed": part.kind == "retaining screw",
                }
            fabrication.record_part(part, by=by, at=at, **told)
        checker = self.who("second")
        for part in self.case.work_parts.filter(kind__in=sorted(fabrication.rules.MADE)):
            fabrication.inspect_part(part, by=checker, note="fits, polished", at=at)
        self.say("fabrication", f"{self.case.work_parts.count()} parts made, lots recorded")

    def lot_of(self, part, by):
        row = part.design_part.material
        lot = MaterialLot.objects.filter(owner=by.party, material=row).first()
        return lot or fabrication.enter_material_lot(
            by=by, material=row, lot=f"DISC{row.pk:03}", certificate=f"C-{row.pk}", form="disc"
        )

    def dispatch(self):
        by, at = self.who("technician"), self.at(12)
        parts = list(self.case.work_parts.exclude(place="replaced"))
        fabrication.disinfect_parts(self.case, by=by, parts=parts, at=at)
        fabrication.pack_parcel(
            self.case,
            by=by,
            at=at,
            move="dispatch_for_try_in",
            parts=parts,
            courier="Invented Courier",
            tracking="IC-000123",
            expected_on=days(at, 2).date(),
            disinfected=True,
            has_statement=True,
        )
        self.move("dispatch_for_try_in", by="technician", day=12, hour=15)

    def book_try_in(self):
        by, at = self.who("desk"), self.at(13)
        calendar = calendar_of(by.party)
        on = calendar.add_working_days(self.at(14).date(), 1)
        book_visit(
            self.case,
            by=by,
            at=at,
            kind="try-in",
            starts_at=at.replace(year=on.year, month=on.month, day=on.day, hour=10),
            minutes=60,
            tools_ready=True,
        )

    def receive(self):
        by, at = self.who("desk"), self.at(14)
        parcel = self.case.parcels.order_by("-pk").first()
        lines = [(line.part, True, True) for line in parcel.lines.select_related("part")]
        fabrication.count_parcel(parcel, by=by, lines=lines, at=at)
        handoff = self.case.handoffs.get(state="offered")
        self.gate("dispatch_for_try_in", by, at, for_acceptance=True)
        accept_offer(handoff, by=by, at=at)
        self.case.refresh_from_db()
        self.say("try-in", f"parcel here, {len(lines)} parts counted")

    def try_in(self):
        on = self.at(18).date()
        answers = dict.fromkeys(
            (
                "seated",
                "screw_and_driver_clear",
                "blanching_fades",
                "contacts",
                "bite",
                "excursions",
                "look",
                "patient_agrees",
            ),
            "yes",
        )
        answers["one_screw_test"] = "yes" if self.work.is_splinted else "not applicable"
        record_try_in(
            self.case,
            by=self.who("dentist"),
            on=on,
            at=self.at(18, 12),
            needs_repolish=False,
            **answers,
        )

    def pass_try_in(self):
        self.move("pass_try_in", by="dentist", day=18, hour=12)

    def deliver(self):
        by, at = self.who("dentist"), self.at(20)
        for site in self.work.sites:
            record_screw(
                self.case,
                by=by,
                at=at + timedelta(hours=1),
                site=site,
                was_new=True,
                torque_ncm=Decimal("30"),
                tightened_at=at,
                second_torque_ncm=Decimal("30"),
                second_at=at + timedelta(minutes=10),
                channel_closed_with="PTFE and composite",
            )
        cement = self.work.fields["retention"] == "cement"
        record_delivery(
            self.case,
            by=by,
            at=at + timedelta(hours=1),
            on=at.date(),
            cement="Invented provisional cement" if cement else "",
            excess_checked=True if cement else None,
            excess_checked_how="probe and floss all round, radiograph" if cement else "",
            bite_after="foil slips in light bite, just held in firm bite; free in excursions",
            baseline_reason="A radiograph of the seating was taken at the scan body visit.",
            instructions_given=True,
            implant_record_given=True,
        )
        self.move("deliver", by="dentist", day=20, hour=11)

    def follow_up(self):
        by = self.who("assistant")
        for visit in self.case.follow_ups.order_by("due_on"):
            if visit.due_on > self.at(28).date():
                continue
            readings = [
                {
                    "site": site,
                    "quantity": "probing_mm",
                    "value": Decimal("3"),
                    "direction": "buccal",
                    "measured_by": by.person.name,
                }
                for site in self.work.sites
            ]
            at = self.at((visit.due_on - self.begun_at.date()).days, 10)
            record_follow_up(
                visit,
                by=by,
                at=at,
                done_on=visit.due_on,
                readings=readings,
                outcome="fine",
                bite="yes",
                screws_tight="yes",
                chipping="no",
            )
        self.say("recall", "48 hours and one week seen; 6 and 12 months planned")

    def gate(self, name, by, at, *, for_acceptance=False):
        """Have the move checked by the worker and answer what it asks."""
        move = find_move(self.case.stage, name)
        ask_for_gate(self.case, move=move, by=by, for_acceptance=for_acceptance, at=at)
        self.finish_jobs()
        standing = standing_of(self.case, move, on=at.date(), for_acceptance=for_acceptance)
        self.found += standing.findings
        if standing.open_asks:
            reasons = {f.key: REASONS.get(f.check, USUAL_REASON) for f in standing.open_asks}
            answer_asks(
                self.case,
                move=move,
                reasons=reasons,
                by=by,
                for_acceptance=for_acceptance,
                at=at,
            )
        return standing

    def move(self, name, *, by, day, hour=10):
        """Check a move and make it; the line says what was found."""
        member, at, source = self.who(by), self.at(day, hour), self.case.stage
        standing = self.gate(name, member, at)
        try:
            make_move(self.case, name=name, by=member, password=self.cast.password, at=at)
        except Refused as refusal:
            raise StoryStopped(f"{name}: {' '.join(refusal.sentences)}") from refusal
        self.case.refresh_from_db()
        title = find_move(source, name).title
        self.say(
            self.case.stage,
            f"{title}: {len(standing.checks)} statements checked, {len(standing.stops)} stop,"
            f" {len(standing.asks)} asked and answered, {len(standing.notes)} noted",
        )
