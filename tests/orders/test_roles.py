"""Do roles stand where the agreed description puts them, and see what they may?"""

import pytest

from orders import roles
from orders.roles import (
    LABELS,
    PARTY_LABELS,
    ROLES_AT,
    PartyKind,
    Role,
    objections_to_roles,
    sees_patient_name,
)

# Written by hand from the agreed table of who works where (common practice, no source).
AGREED_PLACES = {
    "dentist": {"practice"},
    "surgeon": {"practice", "placing practice"},
    "assistant": {"practice"},
    "hygienist": {"practice"},
    "front desk": {"practice"},
    "scan processor": {"scan centre"},
    "technician": {"laboratory"},
    "miller": {"milling centre"},
    "coordinator": {
        "practice",
        "placing practice",
        "laboratory",
        "scan centre",
        "milling centre",
    },
    "administrator": {
        "practice",
        "placing practice",
        "laboratory",
        "scan centre",
        "milling centre",
    },
}

# Written by hand: what each role may do beside the acts on a case.
AGREED_ACTS = {
    "dentist": {"PRESCRIBES", "CLINICAL_RECORDS"},
    "surgeon": {"CLINICAL_RECORDS"},
    "assistant": {"CLINICAL_RECORDS"},
    "hygienist": {"CLINICAL_RECORDS"},
    "front desk": set(),
    "scan processor": set(),
    "technician": {"MAKES_PARTS"},
    "miller": {"MAKES_PARTS"},
    "coordinator": set(),
    "administrator": {"MANAGES_PARTY"},
}

# (kind of party, role): name seen when the practice hides it, when it shows it.
AGREED_NAMES = {
    ("practice", "dentist"): (True, True),
    ("practice", "surgeon"): (True, True),
    ("practice", "assistant"): (True, True),
    ("practice", "hygienist"): (True, True),
    ("practice", "front desk"): (True, True),
    ("practice", "coordinator"): (True, True),
    ("practice", "administrator"): (True, True),
    ("placing practice", "surgeon"): (False, True),
    ("placing practice", "coordinator"): (False, True),
    ("placing practice", "administrator"): (False, False),
    ("laboratory", "technician"): (False, True),
    ("laboratory", "coordinator"): (False, True),
    ("laboratory", "administrator"): (False, False),
    ("scan centre", "scan processor"): (False, False),
    ("scan centre", "coordinator"): (False, False),
    ("scan centre", "administrator"): (False, False),
    ("milling centre", "miller"): (False, False),
    ("milling centre", "coordinator"): (False, False),
    ("milling centre", "administrator"): (False, False),
}


def test_roles_exist_only_where_agreed():
    places = {
        str(role): {str(kind) for kind in PartyKind if role in ROLES_AT[kind]} for role in Role
    }

    assert places == AGREED_PLACES


def test_each_role_may_do_what_was_agreed_and_no_more():
    acts = {
        name: value
        for name, value in vars(roles).items()
        if name.isupper() and not name.startswith("_") and isinstance(value, frozenset)
    }

    assert {
        str(role): {name for name, held in acts.items() if role in held} for role in Role
    } == AGREED_ACTS


@pytest.mark.parametrize("kind", PartyKind)
@pytest.mark.parametrize("role", Role)
def test_name_is_seen_only_where_agreed(kind, role):
    hidden, shown = AGREED_NAMES.get((str(kind), str(role)), (False, False))

    assert sees_patient_name(kind, {role}, False) is hidden
    assert sees_patient_name(kind, {role}, True) is shown


def test_nobody_without_a_role_sees_a_name():
    assert not any(sees_patient_name(kind, (), True) for kind in PartyKind)


def test_a_role_that_does_not_belong_is_named():
    said = objections_to_roles(PartyKind.LABORATORY, [Role.TECHNICIAN, Role.DENTIST])

    assert said == ("Dentist (prescriber) is not a role at a laboratory.",)


def test_a_member_needs_a_role():
    assert objections_to_roles(PartyKind.PRACTICE, []) == ("Choose at least one role.",)


def test_roles_that_belong_meet_no_objection():
    assert objections_to_roles(PartyKind.PRACTICE, ROLES_AT[PartyKind.PRACTICE]) == ()


def test_every_role_and_kind_has_a_label():
    assert set(LABELS) == set(Role)
    assert set(PARTY_LABELS) == set(PartyKind)
