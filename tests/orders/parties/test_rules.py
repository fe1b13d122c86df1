"""Are a party's last administrator and its partnerships guarded?"""

import pytest

from orders.parties.rules import (
    JOIN_ALPHABET,
    JOIN_LENGTH,
    objections_to_membership,
    objections_to_partnership,
    spell_join_code,
)
from orders.roles import PartyKind, Role


def test_last_administrator_cannot_be_switched_off():
    against = objections_to_membership(
        "practice", roles=["administrator"], is_active=False, other_administrators=0
    )

    assert len(against) == 1 and "without an administrator" in against[0]


def test_last_administrator_cannot_lay_the_role_down():
    against = objections_to_membership(
        "practice", roles=["dentist"], is_active=True, other_administrators=0
    )

    assert any("without an administrator" in sentence for sentence in against)


def test_member_beside_an_administrator_may_change():
    assert not objections_to_membership(
        "practice", roles=["dentist"], is_active=False, other_administrators=1
    )


@pytest.mark.parametrize("roles", [[], ["technician"], ["king"]])
def test_roles_that_are_none_at_a_practice_are_refused(roles):
    assert objections_to_membership(
        "practice", roles=roles, is_active=True, other_administrators=1
    )


# Written by hand from the trade: a practice stands on one side of every partnership.
TOGETHER = {
    ("practice", "laboratory"),
    ("practice", "scan centre"),
    ("practice", "milling centre"),
    ("practice", "placing practice"),
}


@pytest.mark.parametrize("own", list(PartyKind))
@pytest.mark.parametrize("other", list(PartyKind))
def test_a_practice_works_with_each_other_kind_and_nobody_else_does(own, other):
    against = objections_to_partnership(own, other, is_same=False, works_together=False)

    allowed = (str(own), str(other)) in TOGETHER or (str(other), str(own)) in TOGETHER
    assert (not against) == allowed


def test_own_code_and_a_second_agreement_are_refused():
    assert objections_to_partnership("practice", "practice", is_same=True, works_together=False)
    assert objections_to_partnership(
        "practice", "laboratory", is_same=False, works_together=True
    )


def test_join_code_is_read_without_doubt():
    code = spell_join_code(range(JOIN_LENGTH))

    assert code == "ABCD-EFGH-JKMN"
    assert not set(JOIN_ALPHABET) & set("01IOL")


def test_every_kind_of_party_has_an_administrator():
    for kind in PartyKind:
        assert not objections_to_membership(
            kind, roles=[Role.ADMINISTRATOR], is_active=True, other_administrators=0
        )
