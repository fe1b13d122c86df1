"""Which versions of the design are there, which one counts, and what covers its digest?"""

from casework.cases.queries import current_prescription, sites_of
from casework.designs import rules
from casework.designs.models import DesignVersion
from casework.stages import Side
from orders.canonical import digest_of
from orders.catalogue.queries import components_for


def current_version(case):
    """The newest version that was not discarded, or None."""
    return (
        case.designs.exclude(state=rules.SUPERSEDED)
        .select_related("made_by__person")
        .order_by("-number")
        .first()
    )


def approved_version(case):
    """The version whose approval counts, or None."""
    return case.designs.filter(state=rules.APPROVED).order_by("-number").first()


def versions_for(desk):
    """The versions a desk sees, newest first: the practice sees none before its submission."""
    rows = DesignVersion.objects.filter(case=desk.case).select_related("made_by__person")
    if desk.side != Side.LABORATORY:
        rows = rows.filter(state__in=rules.SHOWN_TO_PRACTICE)
    return rows.order_by("-number")


def parts_of(version):
    """The parts of a version with what they are made of."""
    return version.parts.select_related("evidence", "component", "material").order_by("pk")


def digest_of_version(version):
    """SHA-256 over the parts, with the digest of every file, and the notes."""
    return digest_of(
        rules.digest_facts(
            code=version.case.code,
            number=version.number,
            notes=version.notes,
            parts=[part.facts() for part in parts_of(version)],
        )
    )


def teeth_ordered(case):
    """Teeth and implant sites of the order, as plain codes."""
    prescription = current_prescription(case)
    return (prescription.teeth if prescription else ()), sites_of(case)


def files_for_parts(case, party):
    """Current files a laboratory brought as parts of a design, newest first."""
    return (
        case.evidence.filter(role="design_part", party=party, superseded_at=None)
        .exclude(state__in=["refused", "failed"])
        .order_by("-number")
    )


def stock_components(party):
    """Bases and screws of the catalogue a party may take: shared ones and its own."""
    kinds = frozenset().union(*rules.FROM_CATALOGUE.values())
    return components_for(party).filter(kind__in=kinds)
