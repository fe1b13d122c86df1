"""Which files of a case does somebody see, and which bytes do they get of one?"""

from dataclasses import dataclass

from django.db.models import Q
from django.http import Http404

from casework.cases.rules import may_act
from casework.evidence.models import Evidence
from casework.evidence.rules import ROLES, handed_name, may_see
from casework.stages import Side

# Handoffs whose files the receiver keeps sight of; a withdrawn offer takes them back.
SHOWN_STATES = ("offered", "accepted", "returned", "made")


@dataclass(frozen=True, slots=True)
class Download:
    """Bytes somebody may have: how they are called, where they lie, what they are."""

    number: int
    name: str
    key: str
    size_bytes: int
    sha256: str
    format: str


def files_for(desk, *, with_superseded=False):
    """The files the member sees: their own party's, and what was handed to it."""
    party = desk.member.party_id
    handed = Evidence.objects.filter(
        case=desk.case,
        handed__handoff__to_party=party,
        handed__handoff__state__in=SHOWN_STATES,
    )
    is_milling = desk.side == Side.MILLING_CENTRE
    roles = [r for r in ("", *ROLES) if may_see(r, desk.areas, is_milling=is_milling)]
    own = Q(party=party) if _brings_files(desk) else Q(party=party, role__in=roles)
    rows = Evidence.objects.filter(
        own | Q(pk__in=handed.values("pk"), role__in=roles), case=desk.case
    )
    if not with_superseded:
        rows = rows.filter(superseded_at=None)
    return rows.select_related(
        "case__order", "party", "received_by__person", "derived", "superseded_by", "made_from"
    ).order_by("number")


def sees_files(desk):
    """May the member open the page of the case's files at all?"""
    is_milling = desk.side == Side.MILLING_CENTRE
    return _brings_files(desk) or any(
        may_see(role, desk.areas, is_milling=is_milling) for role in ROLES
    )


def _brings_files(desk):
    """Whoever adds files sees those of the own party, whatever else of the case they see."""
    return may_act("add evidence", desk.side, desk.member.role_set)


def file_for(desk, number):
    """One file by its number; what the member does not see is not there."""
    evidence = files_for(desk, with_superseded=True).filter(number=number).first()
    if evidence is None:
        raise Http404
    return evidence


def is_own(desk, evidence):
    return evidence.party_id == desk.member.party_id


def derived_of(evidence):
    """The copy for other parties, or None."""
    return getattr(evidence, "derived", None)


def was_handed_over(evidence):
    """Does the file stand in an offer that is open or was taken?"""
    return evidence.handed.filter(handoff__state__in=("offered", "accepted", "made")).exists()


def download_for(desk, evidence):
    """What the member gets of the file: the original of the own party's, else the copy.

    None where there is nothing to be had: erased, not inspected yet, or not to leave.
    """
    if not is_own(desk, evidence):
        return _copy(evidence, _name_handed(desk, evidence))
    if not evidence.storage_key:
        return None
    return Download(
        evidence.number,
        evidence.original_name,
        evidence.storage_key,
        evidence.size_bytes,
        evidence.sha256,
        evidence.format,
    )


def copies_for(desk):
    """Every current file as it is, or would be, handed over: the content of the bag."""
    found = []
    for evidence in files_for(desk).filter(state="readable"):
        role = ROLES.get(evidence.role)
        if is_own(desk, evidence) and not (role and role.leaves and evidence.is_confirmed):
            continue
        name = _name_handed(desk, evidence) if not is_own(desk, evidence) else ""
        if copy := _copy(evidence, name):
            found.append(copy)
    return found


def name_outside(evidence):
    """Code-site-role, as other parties see the file called."""
    return handed_name(
        evidence.case.code,
        evidence.sites,
        evidence.role,
        evidence.jaw,
        evidence.number,
        evidence.format,
    )


def facts_of(evidence):
    """What is known of a file as plain values, without its name on somebody's computer."""
    return {
        "number": evidence.number,
        "role": evidence.role,
        "jaw": evidence.jaw,
        "sites": list(evidence.sites),
        "format": evidence.format,
        "size_bytes": evidence.size_bytes,
        "sha256": evidence.sha256,
        "taken_on": evidence.taken_on,
    }


def numbers_with_same_bytes(evidence):
    """Other current files of the case with the same bytes."""
    return list(
        Evidence.objects.filter(
            case=evidence.case_id, sha256=evidence.sha256, superseded_at=None
        )
        .exclude(pk=evidence.pk)
        .order_by("number")
        .values_list("number", flat=True)
    )


def _name_handed(desk, evidence):
    row = (
        evidence.handed.filter(
            handoff__to_party=desk.member.party_id, handoff__state__in=SHOWN_STATES
        )
        .order_by("-pk")
        .first()
    )
    return row.name if row else ""


def _copy(evidence, name=""):
    copy = derived_of(evidence)
    if copy is None:
        return None
    return Download(
        evidence.number,
        name or copy.name,
        copy.storage_key,
        copy.size_bytes,
        copy.sha256,
        evidence.format,
    )
