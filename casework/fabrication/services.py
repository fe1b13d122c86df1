"""How are the parts of a case planned, recorded, inspected, made anew and left in the mouth?"""

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from casework.audit.services import record
from casework.cases.access import require
from casework.cases.models import Case
from casework.cases.queries import side_of
from casework.cases.services import refresh_summary
from casework.designs.queries import stock_components
from casework.fabrication import rules
from casework.fabrication.models import MaterialLot, Part
from casework.fabrication.parcels import (
    count_parcel,
    expect_parcel,
    pack_parcel,
    report_lost,
    send_parcel,
    take_back_parcel,
)
from casework.fabrication.planning import plan_parts
from casework.fabrication.queries import current_parts, technician_count
from casework.stages import Side, Stage
from orders.catalogue.queries import materials_for
from orders.records import save_record
from orders.refusals import Refused
from orders.roles import MAKES_PARTS, Role

__all__ = [
    "add_enclosure",
    "count_parcel",
    "disinfect_parts",
    "enter_material_lot",
    "expect_parcel",
    "inspect_part",
    "leave_in_mouth",
    "mark_delivered",
    "mark_tried_in",
    "pack_parcel",
    "plan_parts",
    "record_part",
    "remake_part",
    "report_lost",
    "send_parcel",
    "take_back_parcel",
]


def _refuse(objections):
    if objections:
        raise Refused(*(_(sentence) for sentence in objections))


def enter_material_lot(
    *, by, material, lot, certificate="", form="", received_on=None, at=None
):
    """Enter a disc, blank or bag of one lot; it serves many parts of many cases."""
    if by.party.kind not in (Side.LABORATORY, Side.MILLING_CENTRE) or not by.has(
        *MAKES_PARTS, Role.COORDINATOR
    ):
        raise PermissionDenied
    if not lot.strip():
        raise Refused(_("Type the lot as it is printed."))
    if not materials_for(by.party).filter(pk=material.pk).exists():
        raise Refused(_("This material is not in your catalogue."))
    try:
        with transaction.atomic():
            row = MaterialLot.objects.create(
                owner=by.party,
                material=material,
                lot=lot,
                certificate=certificate,
                form=form,
                received_on=received_on,
            )
            record(
                "lot.entered",
                subject=f"{row._meta.label}:{row.pk}",
                by=by,
                facts={"lot": lot, "material": material.name, "certificate": certificate},
                at=at,
            )
    except IntegrityError:
        raise Refused(
            _("Lot {lot} of {material} is entered already.").format(lot=lot, material=material)
        ) from None
    return row


def _open_part(part, seen_revision):
    """The part as it stands, locked, with its case; `seen_revision` as the page had it."""
    part = (
        Part.objects.select_for_update(of=("self",), no_key=True)
        .select_related("case__order__patient", "made_by", "material_lot", "component")
        .get(pk=part.pk)
    )
    return part, part.revision if seen_revision is None else seen_revision


def record_part(part, *, by, seen_revision=None, at=None, **said):
    """Record lot, material lot, certificate's lot, records of making; only what is named.

    `said` are fields of rules.RECORDED. A change after the inspection needs a new inspection.
    """
    at = at or timezone.now()
    if unknown := set(said) - set(rules.RECORDED):
        raise TypeError(f"no such fields of a part: {sorted(unknown)}")
    with transaction.atomic():
        part, seen = _open_part(part, seen_revision)
        case = part.case
        require(case, by, "record parts")
        side = side_of(case, by.party)
        made_on = said.get("made_on", part.made_on)
        _refuse(
            rules.objections_to_record(
                kind=part.kind, place=part.place, side=side, made_on=made_on, today=at.date()
            )
        )
        _refuse_strange(part, by, said)
        changed = [name for name in said if getattr(part, name) != said[name]]
        for name in changed:
            setattr(part, name, said[name])
        if part.made_on and part.made_by is None and part.kind in rules.MADE:
            part.made_by = by
        if set(changed) - {"cost"}:
            part.inspected_by, part.inspected_on, part.inspection_note = None, None, ""
        if side == Side.MILLING_CENTRE and case.stage == Stage.MILLING:
            part.place = rules.AT_MILLING
        save_record(part, by=by, case=case.code, seen_revision=seen)
        refresh_summary(case)
    return part


def _refuse_strange(part, by, said):
    lot = said.get("material_lot")
    if lot and lot.owner_id != by.party_id:
        raise Refused(_("This material lot is not one of your house. Enter it first."))
    if lot and part.kind not in rules.MADE:
        raise Refused(
            _("A {kind} is bought: it has a lot of its own, no material lot.").format(
                kind=part.kind
            )
        )
    component = said.get("component")
    if component and part.kind in rules.STOCK and part.kind != "driver":
        if not stock_components(by.party).filter(pk=component.pk).exists():
            raise Refused(_("This part number is not in your catalogue."))
    maker = said.get("made_by")
    if maker and maker.party_id != by.party_id:
        raise Refused(_("The maker named is not a member of your house."))


def inspect_part(part, *, by, note="", is_fit=True, on=None, seen_revision=None, at=None):
    """Final inspection, by another than the maker where the laboratory has two technicians."""
    at = at or timezone.now()
    with transaction.atomic():
        part, seen = _open_part(part, seen_revision)
        case = part.case
        require(case, by, "inspect parts")
        _refuse(
            rules.objections_to_inspection(
                kind=part.kind,
                place=part.place,
                made_on=part.made_on,
                is_maker=part.made_by is not None and part.made_by.person_id == by.person_id,
                technician_count=technician_count(by.party),
            )
        )
        if not is_fit and not note.strip():
            raise Refused(_("Say what the inspection found."))
        part.inspected_by, part.inspected_on = by, on or at.date()
        part.inspection_note = note
        if not is_fit:
            part.place = rules.DAMAGED
        save_record(part, by=by, case=case.code, seen_revision=seen)
        refresh_summary(case)
    return part


def disinfect_parts(case, *, by, parts, on=None, at=None):
    """Note that parts were cleaned and disinfected before they travel."""
    at = at or timezone.now()
    with transaction.atomic():
        case = Case.objects.select_for_update(of=("self",), no_key=True).get(pk=case.pk)
        require(case, by, "pack parcel")
        in_hand = rules.IN_HAND.get(side_of(case, by.party), ())
        for part in parts:
            part, seen = _open_part(part, None)
            if part.case_id != case.pk or part.place not in in_hand:
                raise Refused(
                    _("The {part} is {place} and not in your hands.").format(
                        part=rules.name_of(part.kind, part.sites), place=part.place
                    )
                )
            part.disinfected_on = on or at.date()
            save_record(part, by=by, case=case.code, seen_revision=seen)


def remake_part(part, *, by, reason, at=None):
    """Make a part anew; the old one stays on record with its lots and cost, as replaced."""
    with transaction.atomic():
        part, seen = _open_part(part, None)
        case = part.case
        require(case, by, "record parts")
        _refuse(rules.objections_to_remake(part.kind, part.place, reason))
        was = part.place
        part.place = rules.REPLACED
        save_record(part, by=by, case=case.code, seen_revision=seen)
        fresh = Part(
            case=case,
            design_part=part.design_part,
            kind=part.kind,
            sites=part.sites,
            component=part.component,
        )
        save_record(fresh, by=by, case=case.code)
        record(
            "part.remade",
            subject=fresh.subject,
            by=by,
            case=case.code,
            facts={"part": str(part), "reason": reason, "was": was, "old": part.subject},
            at=at,
        )
        refresh_summary(case)
    return fresh


def add_enclosure(case, *, by, kind, component=None, lot="", at=None):
    """Lay a driver or the statement for a custom-made device beside the work."""
    with transaction.atomic():
        case = Case.objects.select_for_update(of=("self",), no_key=True).get(pk=case.pk)
        require(case, by, "record parts")
        if kind not in rules.ENCLOSURES:
            raise Refused(
                _("Only {kinds} are enclosed beside the parts of the design.").format(
                    kinds=", ".join(rules.ENCLOSURES)
                )
            )
        part = Part(case=case, kind=kind, sites=[], component=component, lot=lot)
        part.place = rules.PLACE_OF[side_of(case, by.party)]
        save_record(part, by=by, case=case.code)
        refresh_summary(case)
    return part


def _put(case, by, kinds, places, place):
    """Move the parts of `kinds` that are at `places` to `place`."""
    for part in current_parts(case).filter(kind__in=kinds, place__in=places):
        part.place = place
        save_record(part, by=by, case=case.code)


def mark_tried_in(case, *, by):
    """The work here was tried in. Runs in the transaction of the try-in's record."""
    _put(case, by, rules.TRIED_IN, [rules.AT_PRACTICE], rules.TRIED)


def leave_in_mouth(case, *, by, parts, at=None):
    """Leave single parts in the mouth while others go back: an abutment under a bridge."""
    with transaction.atomic():
        case = Case.objects.select_for_update(of=("self",), no_key=True).get(pk=case.pk)
        require(case, by, "record try-in" if case.stage == Stage.TRY_IN else "record delivery")
        for part in parts:
            part, seen = _open_part(part, None)
            if part.case_id != case.pk or part.place not in (rules.AT_PRACTICE, rules.TRIED):
                raise Refused(
                    _("The {part} is {place}; only what is here can stay in the mouth.").format(
                        part=rules.name_of(part.kind, part.sites), place=part.place
                    )
                )
            if part.kind not in rules.STAYS:
                raise Refused(_("A {kind} never stays in the mouth.").format(kind=part.kind))
            part.place = rules.DELIVERED
            save_record(part, by=by, case=case.code, seen_revision=seen)
        refresh_summary(case)


def mark_delivered(case, *, by):
    """All that stays in the mouth was delivered. Runs in the move's transaction."""
    _put(case, by, rules.STAYS, [rules.AT_PRACTICE, rules.TRIED], rules.DELIVERED)
