"""What does a design approval say: which version, of which files, approved by whom?"""

from dataclasses import dataclass

from casework.documents.naming import is_invented, party_facts
from orders.documents import Document

CAUTIONS = (
    "The approval covers the files listed here and no others. A later change of any of them"
    " takes its force; the service says so and asks for a new approval.",
    "Figures that were not measured are asked about and answered by a named person. They are"
    " not known; look at the parts before they go into the mouth.",
)


@dataclass(frozen=True, slots=True)
class Facts:
    case: str
    practice: dict
    laboratory: dict | None
    version: int
    version_digest: str
    made_by: str
    made_at: object
    notes: str
    parts: list
    answers: list
    conditions: list
    signature: dict | None
    is_invented: bool
    cautions: list


DOCUMENT = Document("Design approval", Facts, "DA")


def facts_of(handoff, version, parts, *, answers, signature):
    """Everything the approval says; `answers` are the asks of the manifest with reasons."""
    return Facts(
        case=handoff.case.code,
        practice=party_facts(handoff.from_party),
        laboratory=handoff.to_party and party_facts(handoff.to_party),
        version=version.number,
        version_digest=version.digest,
        made_by=version.made_by.person.name,
        made_at=version.made_at,
        notes=version.notes,
        parts=[_part(part) for part in parts],
        answers=answers,
        conditions=_open_conditions(handoff),
        signature=signature,
        is_invented=is_invented(handoff.from_party, handoff.to_party),
        cautions=list(CAUTIONS),
    )


def _part(part):
    facts = part.facts()
    return facts | {"name": _file_name(part), "format": part.evidence and part.evidence.format}


def _file_name(part):
    """The file's name as every party sees it; never the name it was uploaded under."""
    derived = getattr(part.evidence, "derived", None) if part.evidence else None
    return derived.name if derived else ""


def _open_conditions(handoff):
    """Conditions of acceptances that still wait, and the move they wait for."""
    rows = handoff.case.handoffs.filter(conditions__met_at=None, conditions__isnull=False)
    return [
        {"text": condition.text, "before_move": condition.before_move}
        for row in rows.distinct().order_by("number")
        for condition in row.conditions.filter(met_at=None).order_by("pk")
    ]
