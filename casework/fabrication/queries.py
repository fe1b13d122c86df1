"""Which parts and parcels are there, where are they, and what was used for them so far?"""

from django.db.models import Q

from casework.cases.queries import open_offer
from casework.fabrication import rules
from casework.fabrication.models import MaterialLot, Parcel, Part
from casework.stages import HELD_BY, Side, moves_from
from orders.parties.models import Membership
from orders.parties.queries import members_with
from orders.roles import MAKES_PARTS, Role


def all_parts(case):
    """Every part ever planned for the case, those replaced too."""
    return (
        Part.objects.filter(case=case)
        .select_related(
            "component",
            "design_part__evidence",
            "design_part__material",
            "material_lot__material",
            "made_by__person",
            "inspected_by__person",
        )
        .order_by("pk")
    )


def current_parts(case):
    """The parts that make up the work as it stands."""
    return all_parts(case).exclude(place=rules.REPLACED)


def parts_at_desk(desk):
    """The current parts, each with what this desk can do with it by where it is."""
    rows = list(current_parts(desk.case))
    for part in rows:
        part.is_in_hand = rules.may_record(part.place, desk.side)
        part.may_be_remade = part.place in rules.REMADE_FROM
    return rows


def parts_in_hand(case, side):
    """The parts a side can pack."""
    return current_parts(case).filter(place__in=rules.IN_HAND.get(side, ()))


def parcels_for(desk):
    """The parcels between this desk's party and another, newest first; a practice sees all
    of its own case but those between laboratory and milling centre."""
    rows = Parcel.objects.filter(case=desk.case).filter(
        Q(from_party=desk.member.party) | Q(to_party=desk.member.party)
    )
    return (
        rows.select_related("from_party", "to_party", "counted_by__person", "handoff")
        .prefetch_related("lines__part__component")
        .order_by("-pk")
    )


def parcel_under_way(case, to_side):
    """The newest parcel packed for, or on its way to, a side; None where there is none."""
    return (
        Parcel.objects.filter(case=case, state__in=[rules.PACKED, rules.ON_THE_WAY])
        .filter(to_party__in=case.parties.filter(side=to_side).values("party"))
        .order_by("-pk")
        .first()
    )


def last_courier_of(party):
    """The courier whom a party named last: it is usually taken again."""
    named = Parcel.objects.filter(from_party=party).exclude(courier="").order_by("-pk").first()
    return named.courier if named else ""


def packed_for(case, move_name, party):
    """The parcel a party has packed for a move and not sent yet, or None."""
    return (
        Parcel.objects.filter(
            case=case, move=move_name, from_party=party, state=rules.PACKED, handoff=None
        )
        .order_by("-pk")
        .first()
    )


def can_be_counted(parcel):
    """A parcel is counted once, and corrected as long as its offer is open."""
    return parcel.state == rules.ON_THE_WAY or bool(
        parcel.state in rules.COUNTED and parcel.handoff and parcel.handoff.is_open
    )


def parcel_moves(case):
    """The moves of this stage that a parcel can be packed for."""
    return tuple(
        dict.fromkeys(move.name for move in moves_from(case.stage) if move.parts_travel)
    )


def may_pack(desk):
    """Can this desk pack now: its turn, a move that carries parts, no offer under way?"""
    return (
        desk.may("pack parcel")
        and HELD_BY[desk.case.stage] == desk.side
        and bool(parcel_moves(desk.case))
        and open_offer(desk.case) is None
    )


def made_alike(part):
    """The part made last of the same material for the same case, or None: often of one disc."""
    if part.design_part is None or part.design_part.material is None:
        return None
    made = current_parts(part.case).filter(
        made_on__isnull=False, design_part__material=part.design_part.material
    )
    return made.exclude(pk=part.pk).order_by("-changed_at", "-pk").first()


def lots_of(party):
    """The material lots a party has entered, newest first."""
    return MaterialLot.objects.filter(owner=party).select_related("material").order_by("-pk")


def makers_of(party):
    """Those at a party who make parts."""
    makers = [member.pk for member in members_with(party, *MAKES_PARTS)]
    return Membership.objects.filter(pk__in=makers).select_related("person").order_by("pk")


def technician_count(party):
    """How many technicians work at a laboratory."""
    return len(members_with(party, Role.TECHNICIAN))


def cost_so_far(case):
    """What was entered as cost of the parts so far, those replaced too; None where nothing."""
    # Added here: SQLite adds decimals as floats.
    costs = Part.objects.filter(case=case).exclude(cost=None).values_list("cost", flat=True)
    return sum(costs) if costs else None


def cost_is_seen_by(desk):
    """Costs are between the laboratory and the practice."""
    return desk.side in (Side.LABORATORY, Side.PRACTICE)
