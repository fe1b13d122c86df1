"""How does a case in the database look that lacks nothing before its order is sent?

Rows are written directly, as their services would have left them; all parts are invented.
"""

from datetime import UTC, date, datetime, timedelta

from casework.evidence.models import Evidence
from casework.measurements.models import Measurement
from casework.measurements.queries import INTEGRITY, INTEGRITY_VERSION, input_digest
from casework.readings.models import BiteNote, Reading, ScanBodyUse
from orders.catalogue.models import Component, Material
from orders.implants.models import Dentition, Implant
from orders.prescriptions.models import Prescription
from orders.records import save_record
from orders.shades.models import ShadeGuide, ShadeNote
from tests.casework.checks.good import SITES, good

PLACED, SCANNED = date(2026, 1, 12), date(2026, 5, 28)


def save(record, case, by):
    return save_record(record, by=by, case=case.code)


def make_component(kind, number, **fields):
    fields = {"connection": "conical six", "platform": "regular", "source": "invented"} | fields
    part, _is_new = Component.objects.get_or_create(
        owner=None, kind=kind, part_number=number, defaults={"name": kind, **fields}
    )
    return part


def make_implant(case, by, site, **fields):
    said = {
        "component": make_component(
            "implant",
            "IM-41-10",
            dimensions={
                "platform_diameter_mm": "4.1",
                "body_diameter_mm": "4.1",
                "length_mm": "10",
            },
        ),
        "system": "Invented line",
        "connection": "conical six",
        "platform": "regular",
        "platform_diameter_mm": "4.10",
        "body_diameter_mm": "4.10",
        "length_mm": "10.00",
        "lot": "L1",
        "placed_on": PLACED,
        "placed_by": "Dr. A. Invented",
        "soft_tissue": "healthy",
        "healing_abutment_height_mm": "3.0",
    }
    implant = Implant(patient=case.order.patient, site=site, **(said | fields))
    return save(implant, case, by)


def make_file(case, by, role, jaw="", sites=(), *, values=None, **fields):
    number = case.evidence.count() + 1
    is_mesh = role not in ("radiograph", "photograph", "shade_photograph")
    said = {
        "party": by.party,
        "received_by": by,
        "received_at": datetime(2026, 5, 29, 9, 0, tzinfo=UTC),
        "jaw": jaw,
        "sites": list(sites),
        "is_confirmed": True,
        "size_bytes": 684,
        "sha256": f"{number:064x}",
        "storage_key": f"nowhere/{number}",
        "format": "STL" if is_mesh else "JPEG",
        "taken_on": SCANNED,
        "unit_factor": "1" if is_mesh else "",
        "state": "readable",
    }
    file = Evidence.objects.create(case=case, number=number, role=role, **(said | fields))
    if is_mesh and values is not False:
        measure(file, values or {})
    return file


def measure(file, values):
    """Keep integrity values for the file's bytes in its unit."""
    found = good()["files"][0]["integrity"] | values
    Measurement.objects.create(
        case=file.case,
        evidence=file,
        method=INTEGRITY,
        method_version=INTEGRITY_VERSION,
        input_digest=input_digest(file.sha256, file.unit_factor),
        values=_as_json(found),
        made_at=datetime(2026, 5, 29, 9, 5, tzinfo=UTC),
    )


def _as_json(value):
    if isinstance(value, dict):
        return {key: _as_json(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_as_json(inner) for inner in value]
    return value if isinstance(value, int | bool | str | None) else float(value)


def fill_planning(case, by):
    """What ready to restore needs."""
    for site in SITES:
        make_implant(case, by, site)
        reading = Reading(
            case=case,
            site=site,
            quantity="stability_quotient",
            value="72",
            direction="buccal",
            measured_on=date(2026, 5, 20),
            measured_by="Dr. A. Invented",
        )
        save(reading, case, by)
    teeth = good()["dentition"] | {"patient": case.order.patient}
    save(Dentition(**teeth), case, by)


def fill_scans(case, by):
    """Scan bodies, scans, bite, shade and pictures."""
    for jaw, role, sites in (
        ("lower", "working_arch_scan_bodies", SITES),
        ("lower", "working_arch", SITES),
        ("upper", "opposing_arch", ()),
        ("", "bite_scan", ()),
        ("", "photograph", ()),
        ("", "radiograph", SITES),
        ("", "shade_photograph", ()),
    ):
        make_file(case, by, role, jaw, sites)
    body = make_component(
        "scan body",
        "SB-8",
        torque_ncm="5",
        uses_max=10,
        dimensions={"height_mm": "8", "diameter_mm": "4.5"},
    )
    for site in SITES:
        use = ScanBodyUse(
            case=case,
            site=site,
            component=body,
            lot="S1",
            use_count=1,
            torque_ncm="5",
            tightened_how="torque wrench",
            placed_on=SCANNED,
            radiograph=case.evidence.get(role="radiograph"),
        )
        save(use, case, by)
    save(BiteNote(case=case, **good()["bite"]), case, by)
    guide = ShadeGuide.objects.create(owner=by.party, name="Invented guide", tabs=["B1", "B2"])
    shade = good()["shade"] | {"guide": guide}
    save(ShadeNote(order=case.order, **shade), case, by)


def fill_prescription(case, by, *, wanted_on=None, **fields):
    material = Material.objects.create(
        name="Invented zirconia", family="zirconia", strength_class=5, source="invented"
    )
    prescription = Prescription.objects.get(order=case.order, state="draft")
    known = {name for name in Prescription.FACTS if name not in ("number", "material")}
    said = {key: value for key, value in good()["prescription"].items() if key in known}
    said |= {
        "material": material,
        "wanted_on": wanted_on or date.today() + timedelta(days=40),
    }
    for name, value in (said | fields).items():
        setattr(prescription, name, value)
    prescription.save()
    return prescription
