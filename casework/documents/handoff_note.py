"""What does a handoff note say: what went from whom to whom, so that the receiver can check it?

The data named for the statement of a custom-made device are those of Regulation (EU) 2017/745,
Annex XIII (1), from memory; the statement itself is the maker's.
"""

from dataclasses import dataclass

from casework.documents.naming import is_invented, part_facts, party_facts
from casework.stages import Side
from orders.documents import Document

CAUTIONS = (
    "Compare every file with its SHA-256 before work begins; a file that differs is not the one"
    " that was handed over. Return the offer and say which.",
    "Compare case code, tooth and label: where they differ, ask before work.",
    "Received scan bodies, try-ins and returned work are cleaned and disinfected again,"
    " whatever the parcel says.",
)
# What only the maker can say in the statement; Annex XIII (1), from memory.
STATEMENT_ASKS = (
    "all sites of manufacture, and the authorised representative where there is one",
    "that the device conforms to the general safety and performance requirements (Annex I), and"
    " which of them are not fully met, with the reasons",
    "whether it contains a medicinal substance or tissue of human or animal origin",
    "the signature of the maker",
)


@dataclass(frozen=True, slots=True)
class Facts:
    case: str
    move: str
    sender: dict
    receiver: dict
    by: str
    at: object
    reason: str
    manifest_number: int
    manifest_digest: str
    files: list
    records: list
    design: dict | None
    answers: list
    returned_before: list
    conditions: list
    parcels: list
    statement: dict | None
    signature: dict | None
    is_invented: bool
    cautions: list


DOCUMENT = Document("Handoff note", Facts, "HN")


def facts_of(handoff, *, manifest, title, by, at, signature=None):
    """Everything the note says; `manifest` as plain values, `title` of the move."""
    parties = (handoff.from_party, handoff.to_party)
    parcels = [_parcel(parcel) for parcel in handoff.parcels.order_by("pk")]
    return Facts(
        case=handoff.case.code,
        move=title,
        sender=party_facts(handoff.from_party),
        receiver=party_facts(handoff.to_party),
        by=by.person.name,
        at=at,
        reason=manifest.get("reason") or handoff.reason,
        manifest_number=handoff.manifest_number,
        manifest_digest=handoff.manifest_digest,
        files=manifest["files"],
        records=[_record(row) for row in manifest["records"]],
        design=manifest["design"],
        answers=manifest["answers"],
        returned_before=_returned_before(handoff),
        conditions=_conditions(handoff),
        parcels=parcels,
        statement=_statement(handoff, parcels),
        signature=signature,
        is_invented=is_invented(*parties),
        cautions=list(CAUTIONS),
    )


def _record(row):
    """One record as the note lists it: what it is about, its revision and digest."""
    says = row["says"]
    if row["kind"] == "prescription":
        about, revision = f"prescription {says['number']}", says["number"]
    else:
        sites = says.get("site") or says.get("sites") or ""
        about = " ".join([str(says.get("quantity") or says.get("kind") or ""), _list(sites)])
        revision = row["revision"]
    return {
        "kind": row["kind"],
        "about": about.strip(),
        "revision": revision,
        "sha256": row["sha256"],
    }


def _list(sites):
    return sites if isinstance(sites, str) else ", ".join(sites)


def _returned_before(handoff):
    """The reasons for which the same move was returned last; this handoff answers them."""
    last = (
        handoff.case.handoffs.filter(move=handoff.move, number__lt=handoff.number)
        .order_by("-number")
        .first()
    )
    if last is None or last.state != "returned" or last.to_party_id != handoff.to_party_id:
        return []
    return [
        {"text": reason.text, "needs": reason.needs}
        for reason in last.return_reasons.order_by("pk")
    ]


def _conditions(handoff):
    """What acceptances between these two parties were made subject to, and the answers."""
    parties = (handoff.from_party, handoff.to_party)
    rows = handoff.case.handoffs.filter(from_party__in=parties, to_party__in=parties)
    return [
        {
            "text": condition.text,
            "before_move": condition.before_move,
            "answer": condition.answer,
            "met_by": condition.met_by.person.name if condition.met_by else "",
            "met_at": condition.met_at,
        }
        for row in rows.order_by("number")
        for condition in row.conditions.select_related("met_by__person").order_by("pk")
    ]


def _parcel(parcel):
    lines = parcel.lines.select_related(
        "part__component", "part__material_lot__material", "part__made_by__party"
    )
    return {
        "courier": parcel.courier,
        "tracking": parcel.tracking,
        "expected_on": parcel.expected_on,
        "disinfected": parcel.disinfected,
        "has_statement": parcel.has_statement,
        "note": parcel.note,
        "parts": [part_facts(line.part) for line in lines.order_by("pk")],
    }


def _statement(handoff, parcels):
    """What the statement for a custom-made device needs; only where a laboratory dispatches."""
    to_practice = handoff.to_party == handoff.case.order.practice
    if handoff.from_party.kind != Side.LABORATORY or not to_practice or not parcels:
        return None
    order = handoff.case.order
    return {
        "maker": party_facts(handoff.from_party),
        "patient_code": order.patient.code,
        "prescriber": order.prescriber.person.name,
        "practice": party_facts(order.practice),
        "prescribed_in": _prescription_named(order),
        "asks": list(STATEMENT_ASKS),
    }


def _prescription_named(order):
    signed = order.prescriptions.filter(state="signed").first()
    if signed is None:
        return None
    return {
        "number": signed.number,
        "signed_at": signed.signed_at,
        "sha256": signed.signed_digest,
    }
