"""How does a test get a case with an order, a design and parts? One `make_` per noun."""

import itertools
from datetime import UTC, datetime

from casework.cases.models import Case, CaseParty
from casework.designs import services as designs
from casework.evidence.models import Evidence
from casework.fabrication import services as fabrication
from casework.handoffs.models import Handoff
from casework.stages import Stage
from orders.catalogue.models import Component, Material
from tests.factories import make_case

_count = itertools.count(1)
NOON = datetime(2026, 4, 13, 12, 0, tzinfo=UTC)
UNITS = (
    {"tooth": "45", "kind": "retainer", "on": "implant"},
    {"tooth": "46", "kind": "pontic", "on": ""},
    {"tooth": "47", "kind": "retainer", "on": "implant"},
)


def put_at(case, stage):
    """Stand the case at a stage; for tests that are not about the moves toward it."""
    Case.objects.filter(pk=case.pk).update(stage=stage, try_in_count=1)
    case.refresh_from_db()
    return case


def make_ordered_case(dentist, laboratory, *, stage=Stage.DESIGN, units=UNITS, **fields):
    """A case whose order is signed and accepted, standing at `stage`."""
    case = make_case(dentist, laboratory=laboratory)
    prescription = case.order.prescriptions.get()
    prescription.units, prescription.state = list(units), "signed"
    for name, value in fields.items():
        setattr(prescription, name, value)
    prescription.save()
    CaseParty.objects.filter(case=case).update(seen_from=NOON)
    return put_at(case, stage)


def make_component(kind="retaining screw", **fields):
    number = next(_count)
    defaults = {
        "part_number": f"INV-{number}",
        "name": f"invented {kind}",
        "source": "invented",
        "torque_ncm": "25" if kind == "retaining screw" else None,
    }
    row = Component.objects.create(kind=kind, **(defaults | fields))
    row.refresh_from_db()
    return row


def make_material(**fields):
    number = next(_count)
    defaults = {
        "name": f"Invented zirconia {number}",
        "family": "zirconia",
        "source": "invented",
    }
    return Material.objects.create(**(defaults | fields))


def make_mesh_file(case, by, *, role="design_part", **fields):
    """A row as the upload leaves it; its bytes are of no matter here."""
    number = next(_count)
    defaults = {
        "number": number,
        "size_bytes": 84,
        "sha256": f"{number:064x}",
        "storage_key": f"test/{number}",
        "format": "STL",
        "state": "readable",
        "is_confirmed": True,
        "received_at": NOON,
    }
    return Evidence.objects.create(
        case=case, party=by.party, received_by=by, role=role, **(defaults | fields)
    )


def make_version(case, technician, *, state="draft", dentist=None):
    """A version of a bridge 45-47 on two bases with their screws, up to a state."""
    version = designs.start_version(case, by=technician, notes="As ordered.", at=NOON)
    mesh = make_mesh_file(case, technician, sites=["45", "46", "47"])
    designs.add_made_part(
        version,
        by=technician,
        kind="bridge",
        sites=["45", "46", "47"],
        evidence=mesh,
        material=make_material(),
    )
    # Stock parts of the version before have come along.
    has = {(part.kind, *part.sites) for part in version.parts.all()}
    base, screw = make_component("base"), make_component("retaining screw")
    for site in ("45", "47"):
        for kind, component in (("base", base), ("retaining screw", screw)):
            if (kind, site) not in has:
                designs.add_stock_part(
                    version, by=technician, kind=kind, sites=[site], component=component
                )
    version.refresh_from_db()
    if state != "draft":
        designs.submit_version(version, by=technician, at=NOON)
    if state == "approved":
        designs.approve_version(version, by=dentist or technician, at=NOON)
    return version


def make_planned_case(dentist, laboratory, technician, *, stage=Stage.FABRICATION, **fields):
    """A case at the bench whose parts are laid out; returns the case and its parts by name."""
    case = make_ordered_case(dentist, laboratory, **fields)
    make_version(case, technician, state="approved", dentist=dentist)
    fabrication.plan_parts(case, by=dentist)
    put_at(case, stage)
    return case, parts_by_name(case)


def parts_by_name(case):
    """The current parts, by kind and sites: "bridge 45 46 47", "base 45"."""
    rows = case.work_parts.exclude(place="replaced")
    return {" ".join([part.kind, *part.sites]): part for part in rows}


def make_offer(case, by, to_party, move="dispatch_for_try_in", state="offered"):
    number = next(_count)
    return Handoff.objects.create(
        case=case,
        number=number,
        move=move,
        source=case.stage,
        target=Stage.TRY_IN,
        from_party=by.party,
        to_party=to_party,
        state=state,
        offered_by=by,
        offered_at=NOON,
    )


def bring_to_practice(case, by, *, names=None):
    """Put parts (all of them) in the practice, as a counted parcel leaves them."""
    rows = case.work_parts.exclude(place="replaced")
    rows = [
        part for part in rows if names is None or " ".join([part.kind, *part.sites]) in names
    ]
    for part in rows:
        part.place = "at practice"
        if part.kind == "retaining screw":
            part.lot, part.is_sealed = f"S{part.sites[0]}", True
        part.save()
    return rows
