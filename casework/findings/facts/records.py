"""What do the records of an order say, as plain values?"""

from datetime import timedelta
from decimal import Decimal

from casework.cases.queries import current_prescription, party_on, signed_prescription
from casework.measurements.queries import INTEGRITY, INTEGRITY_VERSION, as_facts, input_digest
from casework.schedule.queries import calendar_of
from casework.stages import Side, Stage
from orders.patients.queries import birth_date_of
from orders.prescriptions.units import pieces_of
from orders.teeth import CODES

# Moves out of these lead toward the signature: the draft is what is judged.
UNSIGNED = frozenset({Stage.PLANNING, Stage.SCAN_CAPTURE, Stage.SCAN_PROCESSING})
# Nobody asks for more working days than lie in these.
DAYS_COUNTED = 90
_LISTED_MM = ("platform_diameter_mm", "body_diameter_mm", "length_mm")


def prescription_for(case, move):
    """The draft before the order is with the laboratory, afterwards what is signed.

    An amendment that is only begun changes nothing at the bench or at the chair.
    """
    current = current_prescription(case)
    if move.source in UNSIGNED or current is None:
        return current
    return signed_prescription(case) or current


def order(case, move, on):
    row = prescription_for(case, move)
    units = row.units if row else []
    recorded = case.order.patient.implants.order_by("site").values_list("site", flat=True)
    laboratory = party_on(case, Side.LABORATORY)
    return {
        "code": case.code,
        "sites": list(row.implant_sites if row else ()) or list(recorded),
        "teeth": [unit["tooth"] for unit in units],
        "units": units,
        "pieces": [list(piece.teeth) for piece in _pieces(units)],
        "is_splinted": any(len(piece.standing_on("implant")) > 1 for piece in _pieces(units)),
        "laboratory": laboratory.name if laboratory else None,
        "prescriber_licensed": bool(case.order.prescriber.person.licence_number),
    }


def _pieces(units):
    return pieces_of(units) if all(unit["tooth"] in CODES for unit in units) else ()


def prescription(case, move, on):
    row = prescription_for(case, move)
    if row is None:
        return None
    material = row.material
    return row.facts() | {
        "state": row.state,
        "signed": signed_prescription(case) is not None,
        "material_class": material.strength_class if material else None,
        "material_product_family": material.family if material else None,
        "material_limits": material.limits if material else {},
    }


def implants(case, move, on):
    rows = case.order.patient.implants.select_related("component").order_by("site")
    birth_date = birth_date_of(case.order.patient)
    return [
        row.facts()
        | {
            "is_known_system": row.component_id is not None or bool(row.system),
            "component_source": row.component.source if row.component else None,
            "catalogue": _listed(row.component),
            # Whether the day can be; the day of birth itself is no fact of a check.
            "day_problem": _day_problem(row.placed_on, on, birth_date),
        }
        for row in rows
    ]


def _listed(component):
    """What the catalogue says of an implant, or None where it is not in it."""
    if component is None:
        return None
    told = {name: component.dimensions.get(name) for name in _LISTED_MM}
    return {
        "connection": component.connection,
        "platform": component.platform,
        **{name: Decimal(value) if value else None for name, value in told.items()},
    }


def _day_problem(placed_on, on, birth_date):
    if placed_on and placed_on > on:
        return "placed_in_future"
    if placed_on and birth_date and placed_on < birth_date:
        return "placed_before_birth"
    return ""


def dentition(case, move, on):
    row = getattr(case.order.patient, "dentition", None)
    return row.facts() if row else None


def readings(case, move, on):
    return [row.facts() for row in case.readings.order_by("measured_on", "pk")]


def scan_bodies(case, move, on):
    rows = case.scan_bodies.select_related("component", "radiograph").order_by("site")
    return [
        row.facts()
        | {
            "part_number": row.component.part_number,
            "connection": row.component.connection,
            "platform": row.component.platform,
            "uses_max": row.component.uses_max,
            "torque_told_ncm": row.component.torque_ncm,
            "dimensions": row.component.dimensions,
        }
        for row in rows
    ]


def files(case, move, on):
    rows = case.evidence.filter(superseded_at=None).select_related("party", "made_from")
    values = integrity_by_input(case)
    return [
        {
            "number": row.number,
            "role": row.role,
            "jaw": row.jaw,
            "sites": row.sites,
            "format": row.format,
            "sha256": row.sha256,
            "state": row.state,
            "problem": row.problem,
            "unit_factor": row.unit_factor,
            "taken_on": row.taken_on,
            "received_on": row.received_at.date(),
            "is_confirmed": row.is_confirmed,
            "party_side": row.party.kind,
            "made_from": row.made_from.number if row.made_from else None,
            "integrity": values.get(input_digest(row.sha256, row.unit_factor)),
        }
        for row in rows.order_by("number")
    ]


def integrity_by_input(case):
    """The integrity values of the case by what was read: the bytes and their unit."""
    rows = case.measurements.filter(method=INTEGRITY, method_version=INTEGRITY_VERSION)
    return {row.input_digest: as_facts(row.values) for row in rows}


def bite(case, move, on):
    row = getattr(case, "bite_note", None)
    return row.facts() if row else None


def shade(case, move, on):
    row = getattr(case.order, "shade_note", None)
    return row.facts() if row else None


def calendar(case, move, on):
    """Whether the wanted day is past or a working day, and the working days left to it."""
    row = prescription_for(case, move)
    wanted = row.wanted_on if row else None
    if wanted is None:
        return {
            "wanted_on": None,
            "is_past": None,
            "wanted_is_working_day": None,
            "knows_holidays": None,
            "working_days_left": None,
        }
    practice = calendar_of(case.order.practice)
    return {
        "wanted_on": wanted,
        "is_past": wanted < on,
        "wanted_is_working_day": practice.is_working_day(wanted),
        "knows_holidays": practice.knows_holidays,
        "working_days_left": _working_days(practice, on, wanted),
    }


def _working_days(calendar, on, wanted):
    """Working days after `on` up to the day wanted, counted to DAYS_COUNTED days ahead."""
    days = min((wanted - on).days, DAYS_COUNTED)
    return sum(calendar.is_working_day(on + timedelta(days=n)) for n in range(1, days + 1))


def today(case, move, on):
    return on
