"""What does a delivery record say: what was left in the mouth, of which lots, how tightened?

Its last page is the patient's copy. That implants, abutments and screws carry identifiers worth
keeping with the patient follows the implant card of Regulation (EU) 2017/745, Article 18;
whether it is owed for dental implants is disputed, so it is given in any case.
"""

from dataclasses import dataclass

from casework.documents.naming import is_invented, part_facts, party_facts, units_facts
from orders.documents import Document
from orders.documents.order_sheet import IMPLANT

CAUTIONS = (
    "Torque: no value is common to all systems; the value told by the part stands beside each"
    " screw. A screw that will not hold its torque is not left in place.",
    "Small parts can be swallowed or inhaled. A lost part means a radiograph and medical"
    " referral; a driver is retrieved. Say so in the record.",
    "Excess cement harms the tissue: look for it, and look again at the first visits.",
    "This record states what was done. Follow-up is decided by the licensed dentist.",
)
# For the patient; common practice, no source.
ADVICE = (
    "Keep this page, and show it to whoever treats your teeth.",
    "Call the practice soon when the work feels loose, the bite feels high, a piece chips, or"
    " the gum around it hurts, swells or bleeds.",
    "Clean around and under the work every day as you were shown.",
    "Come to the visits that were planned even when nothing bothers you.",
)


@dataclass(frozen=True, slots=True)
class Facts:
    case: str
    patient_code: str
    practice: dict
    laboratory: dict | None
    dentist: dict
    delivery: dict
    units: list
    prescription: dict | None
    implants: list
    screws: list
    parts: list
    parcels: list
    is_invented: bool
    cautions: list
    advice: list


DOCUMENT = Document("Delivery record", Facts, "DR", practice_only=True, names_patient=True)


def facts_of(handoff, *, laboratory, delivery, prescription, implants, screws, parts, parcels):
    """Everything the record and the patient's copy say, without the patient's name."""
    order = handoff.case.order
    person = handoff.offered_by.person
    return Facts(
        case=order.code,
        patient_code=order.patient.code,
        practice=party_facts(order.practice),
        laboratory=laboratory and party_facts(laboratory),
        dentist={"name": person.name, "licence_number": person.licence_number},
        delivery=delivery.facts(),
        units=units_facts(prescription),
        prescription=prescription and _prescribed(prescription),
        implants=[{name: row.facts()[name] for name in IMPLANT} for row in implants],
        screws=[_screw(screw) for screw in screws],
        parts=[part_facts(part) for part in parts],
        parcels=[_parcel(parcel) for parcel in parcels],
        is_invented=is_invented(order.practice, laboratory),
        cautions=list(CAUTIONS),
        advice=list(ADVICE),
    )


def _prescribed(prescription):
    return {
        "number": prescription.number,
        "material_family": prescription.material_family,
        "material": str(prescription.material or ""),
        "retention": prescription.retention,
    }


def _screw(screw):
    part = screw.component
    facts = screw.facts()
    del facts["component"]
    return facts | {
        "part_number": part.part_number,
        "name": part.name,
        "told_ncm": part.torque_ncm,
        "driver": part.driver.part_number if part.driver else "",
    }


def _parcel(parcel):
    """A parcel that brought parts: what of, of which lots."""
    return {
        "from": parcel.from_party.name,
        "courier": parcel.courier,
        "arrived_at": parcel.arrived_at,
        "lots": sorted(
            {
                lot
                for line in parcel.lines.all()
                for lot in (
                    line.part.lot,
                    line.part.material_lot.lot if line.part.material_lot else "",
                )
                if lot
            }
        ),
    }
