"""Which tables belong to casework? Each topic holds its own; they are gathered here."""

from casework.audit.models import ChainHead, Entry
from casework.body_forms.models import BodyForm
from casework.cases.models import Case, CaseParty, Summary
from casework.designs.models import DesignPart, DesignVersion, ReviewMark
from casework.evidence.models import Derived, Evidence
from casework.fabrication.models import MaterialLot, Parcel, ParcelLine, Part
from casework.findings.models import Answer, CheckRun, Finding, GateRun, PartyLimit
from casework.handoffs.models import (
    Condition,
    HandedFile,
    Handoff,
    Notice,
    ReturnReason,
    Signature,
)
from casework.measurements.models import Measurement
from casework.previews.models import Preview
from casework.questions.models import Question, QuestionPicture
from casework.readings.models import BiteNote, Pointed, Reading, ScanBodyUse
from casework.schedule.models import Appointment, ClosingDay
from casework.visits.models import Delivery, FollowUp, FollowUpStep, ScrewRecord, TryIn

__all__ = [
    "Answer",
    "Appointment",
    "BiteNote",
    "BodyForm",
    "Case",
    "CaseParty",
    "ChainHead",
    "CheckRun",
    "ClosingDay",
    "Condition",
    "Delivery",
    "Derived",
    "DesignPart",
    "DesignVersion",
    "Entry",
    "Evidence",
    "Finding",
    "FollowUp",
    "FollowUpStep",
    "GateRun",
    "HandedFile",
    "Handoff",
    "MaterialLot",
    "Measurement",
    "Notice",
    "Parcel",
    "ParcelLine",
    "Part",
    "PartyLimit",
    "Pointed",
    "Preview",
    "Question",
    "QuestionPicture",
    "Reading",
    "ReturnReason",
    "ReviewMark",
    "ScanBodyUse",
    "ScrewRecord",
    "Signature",
    "Summary",
    "TryIn",
]
