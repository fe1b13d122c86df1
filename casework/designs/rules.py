"""What is a design version made of, and what may still be done with it?"""

from collections.abc import Collection, Iterable, Mapping

from orders.teeth import CODES, in_arch_order

# Made from a mesh of the version; taken from the shelf by part number.
MADE = ("custom abutment", "bridge", "crown")
STOCK = ("base", "retaining screw", "try-in screw")
KINDS = MADE + STOCK
# Kinds of the catalogue that may stand for a stock part.
FROM_CATALOGUE = {
    "base": frozenset({"base"}),
    "retaining screw": frozenset({"retaining screw"}),
    "try-in screw": frozenset({"try-in screw", "retaining screw"}),
}
# Two parts of one of these groups cannot stand at one tooth.
_GROUPS = (
    frozenset({"custom abutment"}),
    frozenset({"base"}),
    frozenset({"bridge", "crown"}),
    frozenset({"retaining screw"}),
    frozenset({"try-in screw"}),
)

DRAFT, SUBMITTED, APPROVED = "draft", "submitted", "approved"
RETURNED, VOIDED, SUPERSEDED = "returned", "voided", "superseded"
# What the practice sees: a version from its submission on.
SHOWN_TO_PRACTICE = frozenset({SUBMITTED, APPROVED, RETURNED, VOIDED})


def digest_facts(*, code: str, number: int, notes: str, parts: Iterable[Mapping]) -> dict:
    """What the digest of a version covers, whatever the order in which parts were added."""
    ordered = sorted(
        parts, key=lambda p: (p["kind"], p["sites"], p["sha256"] or "", p["component"] or "")
    )
    return {"case": code, "number": number, "notes": notes, "parts": list(ordered)}


def objections_to_change(state: str, number: int) -> tuple[str, ...]:
    """Why the parts and notes of a version cannot be changed."""
    if state == DRAFT:
        return ()
    return (
        f"Version {number} is {state} and stays as it is. Start another version to change"
        " the design.",
    )


def objections_to_start(draft_number: int | None) -> tuple[str, ...]:
    """Why no new version can be started."""
    if draft_number is None:
        return ()
    return (f"Version {draft_number} is still a draft. Go on with it, or discard it first.",)


def objections_to_part(
    *,
    kind: str,
    sites: Collection[str],
    ordered: Collection[str],
    implant_sites: Collection[str],
    others: Iterable[tuple[str, Collection[str]]],
) -> tuple[str, ...]:
    """Why a part cannot be added; `others` are (kind, sites) of the version's parts so far."""
    return tuple(_against_part(kind, sites, ordered, implant_sites, others))


def _against_part(kind, sites, ordered, implant_sites, others):
    if kind not in KINDS:
        yield f"'{kind}' is no kind of part. Choose one of: {', '.join(KINDS)}."
        return
    if not sites:
        yield f"Name the teeth the {kind} stands at."
    at_implants = kind not in ("bridge", "crown")
    allowed = implant_sites if at_implants else ordered
    strange = [site for site in sites if allowed and site not in allowed]
    if strange:
        what = "has no implant in this order" if at_implants else "is not part of this order"
        yield f"{in_iso(strange)} {what}. Check the tooth numbers."
    if kind == "bridge" and len(sites) == 1:
        yield "A bridge has at least two units. Name all of them, or choose crown."
    if at_implants and len(sites) > 1:
        yield f"A {kind} stands at one implant. Add one for each site."
    group = next(group for group in _GROUPS if kind in group)
    for other_kind, other_sites in others:
        shared = [site for site in sites if site in other_sites]
        if other_kind in group and shared:
            yield (
                f"There is a {other_kind} at {in_iso(shared)} already. Remove it first if"
                " this one replaces it."
            )


def objections_to_file(
    *, role: str, is_own: bool, is_current: bool, state: str, number: int
) -> tuple[str, ...]:
    """Why a file cannot be the mesh of a part."""
    return tuple(_against_file(role, is_own, is_current, state, number))


def _against_file(role, is_own, is_current, state, number):
    if not is_own:
        yield f"File {number} was not brought by your laboratory."
    if role != "design_part":
        yield f"File {number} is not marked as a part of the design. Say so on the files' page."
    if not is_current:
        yield f"File {number} was replaced by another one. Take that one."
    if state in ("refused", "failed"):
        yield f"File {number} cannot be read. Upload the mesh again."


def objections_to_stock(kind: str, component_kind: str, name: str) -> tuple[str, ...]:
    """Why a component of the catalogue cannot be this stock part."""
    if kind not in STOCK:
        return (f"A {kind} is made from a mesh, not taken by part number.",)
    if component_kind not in FROM_CATALOGUE[kind]:
        return (f"{name} is a {component_kind}, not a {kind}. Choose another part number.",)
    return ()


def objections_to_submit(state: str, number: int, part_kinds: Collection[str]):
    """Why a version cannot be marked ready for approval."""
    if state != DRAFT:
        return (f"Version {number} is {state} already.",)
    if not part_kinds:
        return (f"Version {number} has no parts. Add what is to be made.",)
    return ()


def in_iso(codes: Iterable[str]) -> str:
    """Teeth as sentences of the bench name them: "ISO 45, 47"."""
    codes = list(codes)
    known = all(code in CODES for code in codes)
    return f"ISO {', '.join(in_arch_order(codes) if known else codes)}"
