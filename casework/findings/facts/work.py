"""What does the work at the bench and at the chair say, as plain values?"""

from django.db.models import Q

from casework.cases.queries import open_offer, party_on
from casework.designs.queries import current_version, digest_of_version, parts_of
from casework.fabrication.queries import current_parts
from casework.findings.facts.records import integrity_by_input
from casework.measurements.queries import input_digest
from casework.stages import Side
from orders.parties.queries import members_with
from orders.roles import Role

# Moves after which the work is another one than was tried in.
DESIGNED_ANEW = ("reopen_design", "return_to_redesign", "rescan_after_try_in", "ask_for_rescan")


def design(case, move, on):
    version = current_version(case)
    if version is None:
        return None
    integrity = integrity_by_input(case)
    approval = case.signatures.filter(
        subject=version.subject, voided_at=None, handoff__move="approve_design"
    ).first()
    return {
        "number": version.number,
        "state": version.state,
        "digest": version.digest,
        "digest_now": digest_of_version(version),
        "notes": version.notes,
        "signed_digest": approval.subject_digest if approval else None,
        "parts": [_design_part(part, integrity) for part in parts_of(version)],
    }


def _design_part(part, integrity):
    component, material, file = part.component, part.material, part.evidence
    return {
        "kind": part.kind,
        "sites": part.sites,
        "file_number": file.number if file else None,
        "file_state": file.state if file else None,
        "file_is_current": file.is_current if file else None,
        "sha256": file.sha256 if file else None,
        "unit_factor": file.unit_factor if file else None,
        "integrity": integrity.get(input_digest(file.sha256, file.unit_factor))
        if file
        else None,
        "component": component.part_number if component else None,
        "component_kind": component.kind if component else None,
        "connection": component.connection if component else None,
        "platform": component.platform if component else None,
        "material": material.name if material else None,
        "material_family": material.family if material else None,
        "strength_class": material.strength_class if material else None,
    }


def parts(case, move, on):
    """The parts that make up the work as it stands; those replaced count no more."""
    return [
        row.facts()
        | {
            "id": row.pk,
            "design_part_id": row.design_part_id,
            "component_kind": row.component.kind if row.component else None,
            "material": row.material_lot.material.name if row.material_lot else None,
            "certificate": row.material_lot.certificate if row.material_lot else None,
            "made_by_id": row.made_by_id,
            "inspected_by_id": row.inspected_by_id,
        }
        for row in current_parts(case)
    ]


def parcel(case, move, on):
    """The parcel packed or sent for the move under way; an earlier one of that move is none."""
    under_way = Q(handoff=None) | Q(handoff__state="offered")
    rows = case.parcels.filter(under_way, move=move.name).exclude(state="taken back")
    row = rows.order_by("-pk").first()
    if row is None:
        return None
    return row.facts() | {
        "arrived": row.arrived_at is not None,
        "lines": [
            {
                "part_id": line.part_id,
                "kind": line.part.kind,
                "sites": line.part.sites,
                "is_there": line.is_there,
                "is_sound": line.is_sound,
            }
            for line in row.lines.select_related("part").order_by("pk")
        ],
    }


def try_ins(case, move, on):
    """The number of the try-in due, what was recorded of each, and whether one was passed."""
    rows = [row.facts() for row in case.try_ins.order_by("number")]
    return {"due_number": case.try_in_count, "is_passed": _is_passed(case), "rows": rows}


def _is_passed(case):
    """A try-in was passed, and the work was not designed or scanned anew since."""
    done = case.handoffs.filter(state__in=["made", "accepted"])
    passed = done.filter(move="pass_try_in").order_by("-number").first()
    return (
        passed is not None
        and not done.filter(number__gt=passed.number, move__in=DESIGNED_ANEW).exists()
    )


def screws(case, move, on):
    return [
        row.facts()
        | {
            "part_number": row.component.part_number,
            "torque_told_ncm": row.component.torque_ncm,
            "component_kind": row.component.kind,
        }
        for row in case.screws.select_related("component").order_by("site")
    ]


def delivery(case, move, on):
    row = getattr(case, "delivery", None)
    return row.facts() if row else None


def follow_ups(case, move, on):
    return [row.facts() for row in case.follow_ups.order_by("due_on")]


def questions(case, move, on):
    return [
        {
            "number": row.number,
            "text": row.text,
            "to_side": row.to_party.kind,
            "is_open": row.answered_at is None,
            "about": row.about,
        }
        for row in case.questions.select_related("to_party").order_by("number")
    ]


def conditions(case, move, on):
    return [
        {"text": row.text, "before_move": row.before_move, "is_met": row.met_at is not None}
        for handoff in case.handoffs.order_by("number").prefetch_related("conditions")
        for row in handoff.conditions.all()
    ]


def manifest(case, move, on):
    """The open offer's manifest with what its files say by now; else the last accepted order's
    records with their digests as they stand now.
    """
    from casework.handoffs.records import digests_now

    offer = open_offer(case)
    if offer is None:
        accepted = case.handoffs.filter(move="send_order", state="accepted")
        offer = accepted.order_by("-number").first()
    if offer is None:
        return None
    found = {
        "number": offer.manifest_number,
        "is_verified": False,
        "files": [
            {
                "number": line.evidence.number,
                "name": line.name,
                "sha256": line.sha256,
                "stored_sha256": None,
            }
            for line in offer.files.select_related("evidence").order_by("evidence__number")
        ],
        "records": digests_now(offer),
    }
    return found if offer.verified is None else with_verified(found, offer.verified)


def with_verified(manifest, verified):
    """The fact with what the stored bytes say by now: a digest by the file's number."""
    files = [
        file | {"stored_sha256": verified.get(str(file["number"]))}
        for file in manifest["files"]
    ]
    return manifest | {"is_verified": True, "files": files}


def components(case, move, on):
    """The parts this case needs by site, with the dimensions the bench works by."""
    rows = case.order.patient.implants.select_related("component").order_by("site")
    found = [_component("implant", row.site, row.component) for row in rows]
    bodies = case.scan_bodies.select_related("component").order_by("site")
    found += [_component("scan body", row.site, row.component) for row in bodies]
    version = current_version(case)
    stock = parts_of(version).exclude(component=None) if version else ()
    return found + [
        _component(part.component.kind, site, part.component)
        for part in stock
        for site in part.sites
    ]


def _component(what, site, component):
    return {
        "what": what,
        "site": site,
        "part_number": component.part_number if component else None,
        "dimensions": component.dimensions if component else {},
        "source": component.source if component else None,
    }


def members(case, move, on):
    laboratory = party_on(case, Side.LABORATORY)
    technicians = members_with(laboratory, Role.TECHNICIAN) if laboratory else []
    return {"laboratory_technician_count": len(technicians)}


def move_under_way(case, move, on):
    return {"name": move.name, "source": str(move.source), "parts_travel": move.parts_travel}
