"""What does the order sheet say: the work as prescribed and signed, for whom, on what?

Its fields are the union of what the opened statutes ask of a work authorization: West Virginia
Code 30-4B-2, Oklahoma Statutes 59-328.36a, Maryland Health Occupations 4-403, Montana Code
37-4-501 (laboratory, dentist with licence number and signature, patient by number, days written
and wanted, teeth, description, materials by type and quality, shade, who else works on it).
Other places ask for other things; local law decides.
"""

from dataclasses import dataclass

from orders.documents import Document
from orders.prescriptions.strength import class_words
from orders.prescriptions.units import pieces_of
from orders.teeth import in_arch_order

CAUTIONS = (
    "Wrong site: order, scan, design, label and mouth must name the same tooth. Tooth numbers"
    " stand here in ISO 3950 with the tooth in words; ask before work where they differ.",
    "Allergies: compare every alloy and ceramic with the allergies stated; ask about nickel,"
    " cobalt, chromium, palladium and gold.",
    "Screws and torque: no torque is common to all systems. The value in the instructions of"
    " the part at hand counts.",
    "Infection: scan bodies, try-ins and returned work are cleaned and disinfected before they"
    " travel, which is said on the parcel, and again on arrival.",
    "Cement: where work is cemented, keep the margin within reach and the cement little; look"
    " for excess.",
    "This sheet states what was prescribed. It decides nothing: the licensed dentist, the"
    " instructions of each part and material, and local law do.",
)
IMPLANT = (
    "site",
    "system",
    "connection",
    "platform",
    "platform_diameter_mm",
    "body_diameter_mm",
    "length_mm",
    "lot",
    "identifier",
    "identified_how",
    "placed_on",
    "placed_by",
    "soft_tissue",
    "healing_abutment_height_mm",
)


@dataclass(frozen=True, slots=True)
class Facts:
    case: str
    patient: dict
    practice: dict
    laboratory: dict | None
    prescriber: dict
    others: list
    prescription: dict
    pieces: list
    sites: list
    scan_bodies: list
    shade: dict | None
    bite: dict | None
    teeth: dict | None
    files: list
    signature: dict | None
    is_invented: bool
    cautions: list


DOCUMENT = Document("Order sheet", Facts, "OS")


def facts_of(
    order,
    prescription,
    *,
    laboratory,
    others=(),
    implants=(),
    shade=None,
    dentition=None,
    scan_bodies=(),
    bite=None,
    files=(),
    signature=None,
):
    """Everything the order sheet says. `scan_bodies`, `bite` and `files` are plain values."""
    patient, person = order.patient, order.prescriber.person
    parties = [order.practice, laboratory, *(party for _side, party in others)]
    return Facts(
        case=order.code,
        patient={"code": patient.code, "age_band": patient.age_band, "sex": patient.sex},
        practice=party_facts(order.practice),
        laboratory=laboratory and party_facts(laboratory),
        prescriber={"name": person.name, "licence_number": person.licence_number},
        others=[{"side": side, **party_facts(party)} for side, party in others],
        prescription=_prescribed(prescription),
        pieces=[_piece(piece) for piece in pieces_of(prescription.units)],
        sites=_sites(prescription, implants),
        scan_bodies=list(scan_bodies),
        shade=shade and shade.facts(),
        bite=bite,
        teeth=dentition and dentition.facts(),
        files=list(files),
        signature=signature,
        is_invented=any(party.is_invented for party in parties if party),
        cautions=list(CAUTIONS),
    )


def party_facts(party):
    """A party as a paper names it."""
    return {"name": party.name, "address": party.address, "kind": party.kind}


def _prescribed(prescription):
    facts = prescription.facts()
    material = prescription.material
    del facts["units"], facts["sites"]
    return facts | {
        "strength_class_words": class_words(prescription.facts()),
        "material_composition": material.composition if material else "",
        "material_source": material.source if material else "",
        "written_on": prescription.signed_at,
    }


def _piece(piece):
    return {"teeth": list(piece.teeth), "units": [dict(unit) for unit in piece.units]}


def _sites(prescription, implants):
    """Per implant site what is ordered there, with the record of the implant it stands on."""
    recorded = {implant.site: implant.facts() for implant in implants}
    wanted = prescription.sites or {}
    return [
        {
            "site": site,
            "ordered": wanted.get(site),
            "implant": {name: recorded[site][name] for name in IMPLANT}
            if site in recorded
            else None,
        }
        for site in in_arch_order(prescription.implant_sites)
    ]
