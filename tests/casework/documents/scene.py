"""What has a case that has everything a paper can say? Invented, one bridge 45-47."""

from datetime import UTC, date, datetime
from decimal import Decimal

from casework.cases.models import CaseParty
from casework.designs.models import DesignPart, DesignVersion
from casework.documents.issuing import issue_papers
from casework.evidence.models import Derived, Evidence
from casework.fabrication.models import MaterialLot, Parcel, ParcelLine, Part
from casework.handoffs.models import Condition, Handoff, ReturnReason, Signature
from casework.readings.models import BiteNote, ScanBodyUse
from casework.stages import find_move
from casework.visits.models import Delivery, FollowUp, ScrewRecord
from orders.canonical import digest_of, text_of
from orders.catalogue.models import Component, Material, System
from orders.implants.models import Dentition, Implant
from orders.prescriptions.models import Prescription
from orders.shades.models import ShadeGuide, ShadeNote

AT = datetime(2026, 3, 14, 9, 30, tzinfo=UTC)
UNITS = [
    {"tooth": "45", "kind": "retainer", "on": "implant"},
    {"tooth": "46", "kind": "pontic", "on": ""},
    {"tooth": "47", "kind": "retainer", "on": "implant"},
]
SITE = {
    "level": "implant",
    "engaging": False,
    "build": "abutment and restoration",
    "abutment_material": "titanium",
    "base_material": "titanium",
}
ASK = "Not measured in version 2: walls and ceramic room, connectors."
REASON = "Walls looked at in three sections each, none under 0.80 mm; Timo Bench."


def make_parts(laboratory):
    """The catalogue rows the scene stands on."""
    system = System.objects.create(name="Invented Hex Line", is_invented=True)

    def part(kind, number, **fields):
        return Component.objects.create(
            kind=kind,
            system=system,
            part_number=number,
            name=f"{kind} 4.1",
            connection="inner hex",
            platform="RP",
            source="invented",
            **fields,
        )

    driver = part("driver", "DR-100")
    return {
        "implant": part("implant", "IM-4110"),
        "scan body": part("scan body", "SB-41", torque_ncm=Decimal("10")),
        "base": part("base", "TB-41"),
        "screw": part("retaining screw", "RS-41", torque_ncm=Decimal("35"), driver=driver),
        "zirconia": Material.objects.create(
            name="Invented Zirconia Four",
            family="zirconia",
            strength_class=4,
            composition="zirconium oxide, yttrium oxide",
            source="invented",
            is_invented=True,
        ),
        "owner": laboratory,
    }


def fill(case, dentist, technician, *, note=""):
    """Records, prescription, files, design, parts of one case; returns the catalogue rows."""
    order, patient = case.order, case.order.patient
    rows = make_parts(technician.party)
    _records(case, order, patient, rows)
    Prescription.objects.filter(order=order).delete()
    Prescription.objects.create(
        order=order,
        number=1,
        state="signed",
        units=UNITS,
        sites={"45": SITE, "47": SITE},
        material_family="zirconia",
        strength_class=4,
        material=rows["zirconia"],
        retention="screw",
        contacts="usual",
        occlusal_scheme="group function",
        grinding="suspected",
        pontic_form="ovate",
        emergence="concave",
        surface="glazed",
        gum_shade_wanted=True,
        allergies="nickel",
        wanted_on=date(2026, 4, 9),
        is_rush=True,
        fee="estimate 4",
        note=note,
        signed_by=dentist,
        signed_at=AT,
        signed_digest="5" * 64,
    )
    _files(case, dentist, technician)
    _design(case, technician, rows)
    _work(case, technician, rows)
    return rows


def _records(case, order, patient, rows):
    for number, site in enumerate(("45", "47"), 1):
        Implant.objects.create(
            patient=patient,
            site=site,
            component=rows["implant"],
            system="Invented Hex Line",
            connection="inner hex",
            platform="RP",
            platform_diameter_mm=Decimal("4.1"),
            body_diameter_mm=Decimal("4"),
            length_mm=Decimal("10"),
            lot=f"IL-00{number}",
            identifier="(01)09999999999994(10)IL",
            placed_on=date(2025, 10, 6),
            placed_by="Sven Surgeon",
            soft_tissue="healthy",
            healing_abutment_height_mm=Decimal("3.5"),
            revision=1,
        )
        ScanBodyUse.objects.create(
            case=case,
            site=site,
            component=rows["scan body"],
            lot=f"SL-00{number}",
            use_count=3,
            torque_ncm=Decimal("10"),
            tightened_how="torque wrench",
            placed_on=date(2026, 3, 12),
            seating_reason="connection in plain sight",
            seating_by="Dora Dentist",
            revision=2,
        )
    Dentition.objects.create(
        patient=patient, present=["41", "42", "43", "44"], checked_on=date(2026, 3, 12)
    )
    guide = ShadeGuide.objects.create(
        owner=order.practice, name="Guide of our own", tabs=["N2", "N3"]
    )
    ShadeNote.objects.create(
        order=order,
        guide=guide,
        cervical="N3",
        body="N2",
        gum_shade="G1",
        light="daylight lamp",
        light_k=5500,
        taken_before_drying=True,
        taken_on=date(2026, 3, 12),
        revision=1,
    )
    BiteNote.objects.create(
        case=case,
        position="maximum intercuspation",
        seated="healing abutments",
        support_behind=False,
        foil_held_at="44",
        taken_on=date(2026, 3, 12),
        revision=1,
    )


def _files(case, dentist, technician):
    for number, (by, role, ending) in enumerate(
        (
            (dentist, "working_arch_scan_bodies", "ply"),
            (dentist, "opposing_arch", "ply"),
            (dentist, "radiograph", "dcm"),
            (technician, "design_part", "stl"),
        ),
        1,
    ):
        file = Evidence.objects.create(
            case=case,
            party=by.party,
            received_by=by,
            received_at=AT,
            number=number,
            role=role,
            jaw="lower",
            sites=["45", "47"],
            original_name="Testperson_Quirina.stl",
            size_bytes=1234567,
            sha256=f"{number:x}" * 64,
            storage_key="",
            format="STL",
            taken_on=date(2026, 3, 12),
            state="readable",
        )
        Derived.objects.create(
            evidence=file,
            size_bytes=1234000,
            sha256=f"{number + 8:x}" * 64,
            storage_key="",
            name=f"{case.code}-45-47-{role.replace('_', '-')}-{number}.{ending}",
            content_digest="0" * 64,
        )


def _design(case, technician, rows):
    version = DesignVersion.objects.create(
        case=case,
        number=2,
        state="approved",
        notes="Channel at 45 turned by 10 degrees.",
        made_by=technician,
        made_at=AT,
        digest="d" * 64,
    )
    DesignPart.objects.create(
        version=version,
        kind="bridge",
        sites=["45", "46", "47"],
        evidence=case.evidence.get(role="design_part"),
        material=rows["zirconia"],
    )
    DesignPart.objects.create(
        version=version, kind="base", sites=["45"], component=rows["base"]
    )


def _work(case, technician, rows):
    lot = MaterialLot.objects.create(
        owner=technician.party, material=rows["zirconia"], lot="ZL-77", certificate="ZC-77-2026"
    )
    common = {"case": case, "made_by": technician, "place": "delivered", "revision": 1}
    parts = [
        Part.objects.create(
            kind="bridge",
            sites=["45", "46", "47"],
            material_lot=lot,
            milling_record="M-31",
            furnace_record="F-12",
            made_on=date(2026, 3, 27),
            disinfected_on=date(2026, 3, 30),
            **common,
        ),
        Part.objects.create(
            kind="retaining screw",
            sites=["45"],
            component=rows["screw"],
            lot="RL-5",
            is_sealed=True,
            **common,
        ),
    ]
    parcel = Parcel.objects.create(
        case=case,
        move="dispatch_for_delivery",
        from_party=technician.party,
        to_party=case.order.practice,
        courier="Own driver",
        tracking="T-9",
        expected_on=date(2026, 4, 1),
        disinfected=True,
        has_statement=True,
        arrived_at=AT,
        state="arrived",
    )
    for part in parts:
        ParcelLine.objects.create(parcel=parcel, part=part, is_there=True, is_sound=True)
    for site in ("45", "47"):
        ScrewRecord.objects.create(
            case=case,
            site=site,
            component=rows["screw"],
            lot="RL-5",
            torque_ncm=Decimal("35"),
            tightened_at=AT,
            second_torque_ncm=Decimal("35"),
            second_at=AT,
            channel_closed_with="tape and composite",
            revision=1,
        )
    Delivery.objects.create(
        case=case,
        on=date(2026, 4, 8),
        by="Dora Dentist",
        bite_after="even, foil held by all",
        baseline_reason="radiograph of last month shows it",
        instructions_given=True,
        implant_record_given=True,
        revision=1,
    )
    for name, day in (("48 hours", date(2026, 4, 10)), ("6 months", date(2026, 10, 8))):
        FollowUp.objects.create(case=case, name=name, due_on=day, revision=1)


def hand_over(case, by, to_party, *, move, source, signed=False, answers=(), number=1, **more):
    """A handoff row as the move would leave it, with its manifest; returns handoff and move."""
    move = find_move(source, move)
    files = [
        {
            "number": file.number,
            "role": file.role,
            "jaw": file.jaw,
            "sites": file.sites,
            "name": file.derived.name,
            "sha256": file.derived.sha256,
            "size_bytes": file.derived.size_bytes,
            "taken_on": file.taken_on,
        }
        for file in case.evidence.select_related("derived").order_by("number")
    ]
    content = {
        "reason": more.get("reason", ""),
        "files": files,
        "records": [
            {
                "kind": row._meta.verbose_name,
                "subject": row.subject,
                "revision": row.revision,
                "sha256": digest_of(row.facts()),
                "says": row.facts(),
            }
            for row in case.scan_bodies.order_by("site")
        ],
        "design": {"number": 2, "sha256": "d" * 64, "notes": "Channel at 45 turned."},
        "answers": list(answers),
    }
    case.parties.filter(party=to_party).update(seen_from=AT)
    handoff = Handoff.objects.create(
        case=case,
        number=number,
        move=move.name,
        source=move.source,
        target=move.target,
        from_party=by.party,
        to_party=to_party,
        state="offered" if more.pop("is_open", False) else "accepted",
        offered_by=by,
        offered_at=AT,
        manifest=text_of(content),
        manifest_digest=digest_of(content),
        **more,
    )
    if signed:
        Signature.objects.create(
            case=case,
            handoff=handoff,
            by=by,
            by_name=by.person.name,
            role="dentist",
            licence_number="L-4711",
            sentence="I prescribe this work as described in prescription 1.",
            manifest_digest=handoff.manifest_digest,
            subject="orders.Prescription:1",
            subject_digest="5" * 64,
            at=AT,
        )
    return handoff, move


def answer(by="Dora Dentist"):
    return {
        "check": "parts_measured",
        "asked": ASK,
        "subject": "version 2",
        "reason": REASON,
        "by": by,
    }


def issue(case, by, to_party, **handed):
    """The papers of one move, as rows."""
    handoff, move = hand_over(case, by, to_party, **handed)
    return issue_papers(handoff, move, by=by, at=AT)


def send_order(case, dentist, laboratory, **more):
    return issue(
        case, dentist, laboratory, move="send_order", source="scan capture", signed=True, **more
    )


def approve(case, dentist, laboratory):
    return issue(
        case,
        dentist,
        laboratory,
        move="approve_design",
        source="design approval",
        signed=True,
        answers=[answer()],
        number=4,
    )


def deliver(case, dentist):
    return issue(case, dentist, None, move="deliver", source="delivery", number=6)


def dispatch(case, technician):
    """A dispatch that answers an earlier return and an earlier condition."""
    practice = case.order.practice
    earlier, _move = hand_over(
        case, technician, practice, move="dispatch_for_delivery", source="fabrication", number=4
    )
    ReturnReason.objects.create(
        handoff=earlier, text="The bridge is not in the parcel.", needs="record only"
    )
    Condition.objects.create(
        handoff=earlier, text="Say which cement fits.", before_move="dispatch_for_delivery"
    )
    earlier.state = "returned"
    earlier.save()
    handoff, move = hand_over(
        case, technician, practice, move="dispatch_for_delivery", source="fabrication", number=5
    )
    case.parcels.update(handoff=handoff)
    return issue_papers(handoff, move, by=technician, at=AT)


def seat_scan_centre(case, party):
    CaseParty.objects.create(case=case, party=party, side="scan centre")
