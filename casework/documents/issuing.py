"""Which facts does each paper of a move freeze, and who may read it?"""

import json

from casework.audit.models import ChainHead
from casework.cases.queries import party_on, signed_prescription
from casework.checks import file_words
from casework.designs.queries import approved_version, current_version, parts_of
from casework.documents import (
    delivery_record,
    design_approval,
    follow_up_plan,
    handoff_note,
    measurement_report,
)
from casework.documents.naming import signature_facts
from casework.fabrication.queries import current_parts
from casework.findings.measuring import drawn, measured, words_of
from casework.findings.queries import findings_of_last
from casework.readings.queries import bite_of, scan_bodies_of
from casework.schedule.queries import appointments_of
from casework.stages import Side
from casework.visits.queries import delivery_of, follow_ups_of, screws_of
from orders.documents import find_document, order_sheet
from orders.documents.services import issue_paper
from orders.implants.queries import dentition_of, implants_of
from orders.patients.queries import birth_date_of, names_of
from orders.shades.queries import shade_of


def issue_papers(handoff, move, *, by, at):
    """Issue the papers of a move that was just made, offered or amended; in its transaction."""
    # Numbers are taken while the chain's head is held: two acts that each waited for what the
    # other holds, a number and the head, would wait for ever.
    ChainHead.objects.select_for_update().get(pk=1)
    return [_issue(name, handoff, move, by, at) for name in move.papers]


def _issue(name, handoff, move, by, at):
    document, _template = find_document(name)
    case = handoff.case
    return issue_paper(
        document,
        kind=name,
        order=case.order,
        subject=handoff.subject,
        facts=GATHER[name](handoff, move, by, at),
        parties=_readers(document, handoff),
        personal=_personal(case.order.patient) if document.names_patient else None,
        by=by,
        at=at,
    )


def _readers(document, handoff):
    if document.practice_only:
        return [handoff.case.order.practice]
    return [party for party in (handoff.from_party, handoff.to_party) if party]


def _personal(patient):
    """What only the print says; None once it was erased."""
    names = names_of(patient)
    if not names:
        return None
    born = birth_date_of(patient)
    return {"name": names[0], "birth_date": born.isoformat() if born else ""}


def _order_sheet(handoff, move, by, at):
    case = handoff.case
    sites = signed_prescription(case).implant_sites
    bite = bite_of(case)
    others = [
        (seat.side, seat.party)
        for seat in case.parties.select_related("party").order_by("pk")
        if seat.side in (Side.SCAN_CENTRE, Side.MILLING_CENTRE)
    ]
    return order_sheet.facts_of(
        case.order,
        signed_prescription(case),
        laboratory=party_on(case, Side.LABORATORY),
        others=others,
        implants=[row for row in implants_of(case.order.patient) if row.site in sites],
        shade=shade_of(case.order),
        dentition=dentition_of(case.order.patient),
        scan_bodies=[row.facts() for row in scan_bodies_of(case)],
        bite=bite and bite.facts(),
        files=_manifest(handoff)["files"],
        signature=signature_facts(handoff),
    )


def _handoff_note(handoff, move, by, at):
    return handoff_note.facts_of(
        handoff,
        manifest=_manifest(handoff),
        title=move.title,
        by=by,
        at=at,
        signature=signature_facts(handoff),
    )


def _design_approval(handoff, move, by, at):
    version = approved_version(handoff.case)
    return design_approval.facts_of(
        handoff,
        version,
        parts_of(version).select_related("evidence__derived"),
        answers=_manifest(handoff)["answers"],
        signature=signature_facts(handoff),
    )


def _measurement_report(handoff, move, by, at):
    """What was measured on the version submitted, and what the checks of the move found."""
    case = handoff.case
    told, done, waiting, not_told = measured(case)
    findings = findings_of_last(case, move.name)
    rows = case.evidence.filter(superseded_at=None)
    numbers = {file_words(row.number): row for row in rows}
    return measurement_report.facts_of(
        handoff,
        current_version(case),
        results=[
            {"step": one.planned.step} | result
            for one in done
            for result in one.values["results"]
        ],
        findings=findings,
        files=[
            {
                "number": numbers[file.name].number,
                "role": file.role,
                "jaw": file.jaw,
                "sites": list(file.sites),
                "sha256": file.sha256,
                "unit": f"{file.unit_factor:g} mm",
            }
            for file in told.files
            if file.name in numbers
        ],
        pictures=drawn(case).get("pictures", []),
        versions={one.planned.step: one.planned.version for one in done},
        missing=[one.because for one in not_told] + [words_of(one) for one in waiting],
        scan_errors=[
            {"subject": row["subject"], "error": row["measured"], "source": row["source"]}
            for row in findings
            if row["check"] == "scan_true_over_span"
        ],
    )


def _delivery_record(handoff, move, by, at):
    case = handoff.case
    prescription = signed_prescription(case)
    sites = prescription.implant_sites if prescription else ()
    arrived = case.parcels.filter(to_party=case.order.practice, arrived_at__isnull=False)
    return delivery_record.facts_of(
        handoff,
        laboratory=party_on(case, Side.LABORATORY),
        delivery=delivery_of(case),
        prescription=prescription,
        implants=[row for row in implants_of(case.order.patient) if row.site in sites],
        screws=screws_of(case),
        parts=[part for part in current_parts(case) if part.place == "delivered"],
        parcels=arrived.select_related("from_party")
        .prefetch_related("lines__part__material_lot")
        .order_by("pk"),
    )


def _follow_up_plan(handoff, move, by, at):
    case = handoff.case
    booked = appointments_of(case).filter(state="booked")
    return follow_up_plan.facts_of(
        handoff,
        delivery=delivery_of(case),
        prescription=signed_prescription(case),
        follow_ups=follow_ups_of(case),
        booked={visit.kind: visit.at for visit in booked},
    )


def _manifest(handoff):
    return json.loads(handoff.manifest)


GATHER = {
    "order_sheet": _order_sheet,
    "handoff_note": _handoff_note,
    "measurement_report": _measurement_report,
    "design_approval": _design_approval,
    "delivery_record": _delivery_record,
    "follow_up_plan": _follow_up_plan,
}
