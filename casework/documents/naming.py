"""How do papers name a party, a part, a signature?"""

from orders.documents.order_sheet import party_facts
from orders.teeth import in_arch_order

__all__ = ["is_invented", "part_facts", "party_facts", "signature_facts", "units_facts"]


def is_invented(*parties):
    """Does a paper of these parties have to say that they are invented?"""
    return any(party.is_invented for party in parties if party)


def part_facts(part):
    """A made or stock part with everything by which it can be traced."""
    lot = part.material_lot
    return {
        "kind": part.kind,
        "sites": list(part.sites),
        "part_number": part.component.part_number if part.component else "",
        "name": part.component.name if part.component else "",
        "lot": part.lot,
        "material": str(lot.material) if lot else "",
        "material_lot": lot.lot if lot else "",
        "certificate": lot.certificate if lot else "",
        "milling_record": part.milling_record,
        "furnace_record": part.furnace_record,
        "made_by": part.made_by.party.name if part.made_by else "",
        "made_on": part.made_on,
        "is_sealed": part.is_sealed,
        "disinfected_on": part.disinfected_on,
    }


def units_facts(prescription):
    """The units ordered, along the arch."""
    if prescription is None:
        return []
    by_tooth = {unit["tooth"]: dict(unit) for unit in prescription.units}
    return [by_tooth[tooth] for tooth in in_arch_order(by_tooth)]


def signature_facts(handoff):
    """The signature in force on a handoff, or None."""
    row = handoff.signatures.filter(voided_at=None).order_by("-pk").first()
    if row is None:
        return None
    return {
        "by": row.by_name,
        "role": row.role,
        "licence_number": row.licence_number,
        "sentence": row.sentence,
        "manifest_digest": row.manifest_digest,
        "subject_digest": row.subject_digest,
        "at": row.at,
    }
