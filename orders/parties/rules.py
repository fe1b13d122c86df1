"""What speaks against a change of members or against working with another party?"""

from collections.abc import Iterable, Sequence

from orders.roles import PARTY_LABELS, PartyKind, Role, objections_to_roles

# No letter or digit that is read as another; five bits a character.
JOIN_ALPHABET = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"
JOIN_LENGTH = 12


def objections_to_membership(
    party_kind: str,
    *,
    roles: Iterable[str],
    is_active: bool,
    other_administrators: int,
) -> tuple[str, ...]:
    """Why a member cannot hold these roles, or be switched off; empty when they can.

    `other_administrators` counts the active administrators of the party beside this member.
    """
    known = {str(role) for role in Role}
    if unknown := sorted(set(roles) - known):
        return tuple(f"'{role}' is not a role." for role in unknown)
    held = [Role(role) for role in roles]
    against = objections_to_roles(PartyKind(party_kind), held)
    if not other_administrators and not (is_active and Role.ADMINISTRATOR in held):
        against += (
            "The party would be left without an administrator. Make another member "
            "administrator first.",
        )
    return against


def objections_to_partnership(
    own_kind: str, other_kind: str, *, is_same: bool, works_together: bool
) -> tuple[str, ...]:
    """Why two parties cannot agree to work together; empty when they can."""
    if is_same:
        return ("This is your own party's code. Type the code the other party gave you.",)
    if works_together:
        return ("You work with this party already.",)
    if PartyKind.PRACTICE not in (own_kind, other_kind):
        return (
            f"A {PARTY_LABELS[PartyKind(own_kind)].lower()} works together with practices; the "
            f"code is that of a {PARTY_LABELS[PartyKind(other_kind)].lower()}.",
        )
    if own_kind == other_kind:
        return (
            "Two practices work together through a placing practice; the code is that of "
            "another practice. Ask for the code of its laboratory or placing practice.",
        )
    return ()


def spell_join_code(numbers: Sequence[int]) -> str:
    """A join code of three groups of four, from numbers below the alphabet's length."""
    letters = "".join(JOIN_ALPHABET[number] for number in numbers)
    return "-".join(letters[start : start + 4] for start in range(0, len(letters), 4))
