"""Where does each fact that a check reads come from? One table from name to function."""

from casework.findings.facts import records, work
from casework.findings.measuring import measured_fact

# Name of a fact: function of (case, move, day it counts from).
FACTS = {
    "order": records.order,
    "prescription": records.prescription,
    "implants": records.implants,
    "dentition": records.dentition,
    "readings": records.readings,
    "scan_bodies": records.scan_bodies,
    "files": records.files,
    "bite": records.bite,
    "shade": records.shade,
    "calendar": records.calendar,
    "today": records.today,
    "measured": lambda case, move, on: measured_fact(case),
    "design": work.design,
    "parts": work.parts,
    "parcel": work.parcel,
    "try_ins": work.try_ins,
    "screws": work.screws,
    "delivery": work.delivery,
    "follow_ups": work.follow_ups,
    "questions": work.questions,
    "conditions": work.conditions,
    "manifest": work.manifest,
    "components": work.components,
    "members": work.members,
    "move": work.move_under_way,
}


def fetch_facts(case, move, names, *, on):
    """The named facts as they stand, as plain values."""
    return {name: FACTS[name](case, move, on) for name in sorted(names)}
