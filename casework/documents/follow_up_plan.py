"""What does a follow-up plan say: when the patient comes again, for what, and whom to ask?

The visits are the practice's template. What is looked at in each: common practice, no source.
"""

from dataclasses import dataclass

from casework.documents.naming import is_invented, party_facts, units_facts
from orders.documents import Document

BITE = ("bite", "contacts", "screws and channel closure", "what the patient noticed")
RECALL = (
    "bone level (a radiograph where it is justified)",
    "probing and bleeding",
    "mobility",
    "screws and channel closure",
    "chipping and wear",
    "cleaning",
)
EARLY = ("hour", "day", "week")
CAUTIONS = (
    "Pain, swelling, looseness, a high bite or a chipped piece: call before the next visit.",
    "Every radiograph is justified by itself; none is taken because a plan says so.",
    "Which visits are needed is decided by the licensed dentist.",
)


@dataclass(frozen=True, slots=True)
class Facts:
    case: str
    patient_code: str
    practice: dict
    dentist: str
    delivered_on: object
    units: list
    visits: list
    is_invented: bool
    cautions: list


DOCUMENT = Document("Follow-up plan", Facts, "FP", practice_only=True, names_patient=True)


def facts_of(handoff, *, delivery, prescription, follow_ups, booked):
    """Everything the plan says. `booked` maps a visit's name to the moment booked for it."""
    order = handoff.case.order
    return Facts(
        case=order.code,
        patient_code=order.patient.code,
        practice=party_facts(order.practice),
        dentist=handoff.offered_by.person.name,
        delivered_on=delivery.on,
        units=units_facts(prescription),
        visits=[
            {
                "name": visit.name,
                "due_on": visit.due_on,
                "booked_at": booked.get(visit.name),
                "looked_at": list(looked_at(visit.name)),
            }
            for visit in follow_ups
        ],
        is_invented=is_invented(order.practice),
        cautions=list(CAUTIONS),
    )


def looked_at(name):
    """What is looked at in a visit of that name."""
    return BITE if any(word in name for word in EARLY) else RECALL
