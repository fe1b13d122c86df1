"""Which roles does a person hold at which party, and what may each of them do?

A person belongs to one or more parties and holds a set of roles in each. Who may make a move
of the case stands in the stage machine; here stands who may touch which record.
"""

from collections.abc import Iterable
from enum import StrEnum


class Role(StrEnum):
    DENTIST = "dentist"
    SURGEON = "surgeon"
    ASSISTANT = "assistant"
    HYGIENIST = "hygienist"
    FRONT_DESK = "front desk"
    SCAN_PROCESSOR = "scan processor"
    TECHNICIAN = "technician"
    MILLER = "miller"
    COORDINATOR = "coordinator"
    ADMINISTRATOR = "administrator"


class PartyKind(StrEnum):
    PRACTICE = "practice"
    PLACING_PRACTICE = "placing practice"
    LABORATORY = "laboratory"
    SCAN_CENTRE = "scan centre"
    MILLING_CENTRE = "milling centre"


LABELS = {
    Role.DENTIST: "Dentist (prescriber)",
    Role.SURGEON: "Surgeon",
    Role.ASSISTANT: "Assistant",
    Role.HYGIENIST: "Hygienist",
    Role.FRONT_DESK: "Front desk",
    Role.SCAN_PROCESSOR: "Scan processor",
    Role.TECHNICIAN: "Technician",
    Role.MILLER: "Miller",
    Role.COORDINATOR: "Coordinator (lead)",
    Role.ADMINISTRATOR: "Administrator",
}

PARTY_LABELS = {
    PartyKind.PRACTICE: "Practice",
    PartyKind.PLACING_PRACTICE: "Placing practice",
    PartyKind.LABORATORY: "Laboratory",
    PartyKind.SCAN_CENTRE: "Scan centre",
    PartyKind.MILLING_CENTRE: "Milling centre",
}

_ANYWHERE = frozenset({Role.COORDINATOR, Role.ADMINISTRATOR})

ROLES_AT = {
    PartyKind.PRACTICE: _ANYWHERE
    | {Role.DENTIST, Role.SURGEON, Role.ASSISTANT, Role.HYGIENIST, Role.FRONT_DESK},
    PartyKind.PLACING_PRACTICE: _ANYWHERE | {Role.SURGEON},
    PartyKind.LABORATORY: _ANYWHERE | {Role.TECHNICIAN},
    PartyKind.SCAN_CENTRE: _ANYWHERE | {Role.SCAN_PROCESSOR},
    PartyKind.MILLING_CENTRE: _ANYWHERE | {Role.MILLER},
}

# What a member may do beside the acts on a case, which `casework` lists.
PRESCRIBES = frozenset({Role.DENTIST})
# A coordinator never alters a clinical record.
CLINICAL_RECORDS = frozenset({Role.DENTIST, Role.SURGEON, Role.ASSISTANT, Role.HYGIENIST})
MAKES_PARTS = frozenset({Role.TECHNICIAN, Role.MILLER})
MANAGES_PARTY = frozenset({Role.ADMINISTRATOR})

_SEE_NAME_IF_SHOWN = frozenset({Role.SURGEON, Role.TECHNICIAN, Role.COORDINATOR})


def sees_patient_name(
    party_kind: PartyKind, roles: Iterable[Role], practice_shows_name: bool
) -> bool:
    """Whether these roles at that kind of party may see the patient's name.

    Inside the practice anybody with a role; at a scan centre or a milling centre nobody, ever;
    elsewhere only those who work on the case, and only if the practice chose to show it.
    """
    held = frozenset(roles) & ROLES_AT[party_kind]
    if party_kind == PartyKind.PRACTICE:
        return bool(held)
    if party_kind in (PartyKind.SCAN_CENTRE, PartyKind.MILLING_CENTRE):
        return False
    return practice_shows_name and bool(held & _SEE_NAME_IF_SHOWN)


def objections_to_roles(party_kind: PartyKind, roles: Iterable[Role]) -> tuple[str, ...]:
    """Why a member of that kind of party cannot hold these roles; empty when they can."""
    roles = tuple(roles)
    if not roles:
        return ("Choose at least one role.",)
    where = PARTY_LABELS[party_kind].lower()
    return tuple(
        f"{LABELS[role]} is not a role at a {where}."
        for role in Role
        if role in roles and role not in ROLES_AT[party_kind]
    )
