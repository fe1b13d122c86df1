"""What is done with the catalogue: a party adds and corrects rows of its own."""

from decimal import Decimal

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from orders.catalogue import parts
from orders.catalogue.models import Component, Material, System
from orders.catalogue.rules import (
    CERAMIC_CLASSES,
    CERAMICS,
    METAL_TYPES,
    METALS,
    Family,
    class_of_strength,
)
from orders.events import announce
from orders.refusals import Refused
from orders.roles import Role

ADDS_ROWS = frozenset({Role.ADMINISTRATOR, Role.TECHNICIAN, Role.DENTIST})
_COMPONENT = (
    "kind",
    "system",
    "part_number",
    "name",
    "connection",
    "platform",
    "torque_ncm",
    "driver",
    "is_engaging",
    "uses_max",
    "material",
    "source",
    "measured_on",
)
_MATERIAL = (
    "name",
    "family",
    "strength_class",
    "flexural_strength_mpa",
    "composition",
    "source",
)


def save_system(*, by, name, system=None):
    """Add a system of the party's own, or correct its name."""
    require_own(system, by)
    if not name.strip():
        raise Refused(_("Name the system."))
    system = system or System(owner=by.party)
    system.name = name.strip()
    return _write(system, by, ("name",))


def save_component(*, by, component=None, dimensions=None, **typed):
    """Add a component of the party's own, or correct it.

    Dimensions are decimal numbers by name with unit. What the party measured with a calliper
    carries the day, and is never shown as the maker's.
    """
    require_own(component, by)
    _require_known(typed, _COMPONENT)
    component = component or Component(owner=by.party)
    for name, value in typed.items():
        setattr(component, name, value)
    if dimensions is not None:
        component.dimensions = _as_text(dimensions)
    found = parts.objections_to_component(
        component.kind,
        connection=component.connection,
        dimensions=component.dimensions,
        source=component.source,
        measured_on=component.measured_on,
    )
    if not component.part_number or not component.name:
        found = (("part_number", _("Type number and name of the part.")), *found)
    if found:
        raise Refused(*(sentence for _field, sentence in found))
    for row in (component.system, component.driver):
        if row is not None and row.owner_id not in (None, by.party_id):
            raise Refused(_("{row} is not in your catalogue.").format(row=row))
    return _write(component, by, (*_COMPONENT, "dimensions"))


def save_material(*, by, material=None, limits=None, **typed):
    """Add a material of the party's own, or correct it; its own limits win over defaults."""
    require_own(material, by)
    _require_known(typed, _MATERIAL)
    material = material or Material(owner=by.party)
    for name, value in typed.items():
        setattr(material, name, value)
    if limits is not None:
        material.limits = _as_text(limits)
    _refuse_class(material)
    return _write(material, by, (*_MATERIAL, "limits"))


def _refuse_class(material):
    if material.family not in set(Family):
        raise Refused(_("Choose the family of the material from the list."))
    table = CERAMIC_CLASSES if material.family in CERAMICS else METAL_TYPES
    chosen = material.strength_class
    if chosen is None:
        return
    if material.family not in CERAMICS | METALS:
        raise Refused(_("A polymer has no strength class. Leave it empty."))
    if chosen not in table:
        raise Refused(
            _("There is no class {chosen}; they run from {low} to {high}.").format(
                chosen=chosen, low=min(table), high=max(table)
            )
        )
    strength_mpa = material.flexural_strength_mpa
    reached = class_of_strength(strength_mpa or 0) or 0
    if material.family in CERAMICS and strength_mpa and chosen > reached:
        raise Refused(
            _(
                "{mpa} MPa reach class {reached} of ISO 6872, not class {chosen}. Correct one"
                " of the two after the certificate."
            ).format(mpa=strength_mpa, reached=reached, chosen=chosen)
        )


def require_own(row, by):
    """Raise unless a member may change a row, or add one where `row` is None."""
    if not by.has(*ADDS_ROWS):
        raise PermissionDenied
    if row is None or row.owner_id == by.party_id:
        return
    if row.owner_id is None:
        raise Refused(_("Shared rows cannot be changed. Add one of your own instead."))
    raise Refused(
        _("{row} is in another party's catalogue and cannot be changed.").format(row=row)
    )


def _require_known(typed, fields):
    if unknown := set(typed) - set(fields):
        raise TypeError(f"no such fields of a catalogue row: {sorted(unknown)}")


def _as_text(figures):
    return {
        name: format(Decimal(value), "f")
        for name, value in figures.items()
        if value is not None
    }


def _write(row, by, fields):
    try:
        with transaction.atomic():
            row.save()
            said = {name: getattr(row, name) for name in fields}
            announce(
                "catalogue.changed",
                subject=f"{row._meta.label}:{row.pk}",
                by=by,
                facts={
                    "component": str(row),
                    "says": {
                        name: str(value) if hasattr(value, "pk") else value
                        for name, value in said.items()
                    },
                },
            )
    except IntegrityError:
        raise Refused(
            _("Your catalogue has a {kind} with the number {number} already.").format(
                kind=row.kind, number=row.part_number
            )
        ) from None
    return row
