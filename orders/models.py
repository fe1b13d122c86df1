"""Which tables belong to orders? Each topic holds its own; they are gathered here."""

from orders.catalogue.models import Component, Material, System
from orders.devices.models import Device, Interruption, Pin, PinTries
from orders.documents.models import Paper
from orders.implants.models import Dentition, Implant
from orders.jobs.models import Job
from orders.parties.models import Membership, Partnership, Party, Person, ResetRequest
from orders.patients.models import Patient, PatientIdentity
from orders.prescriptions.models import Order, Prescription
from orders.shades.models import ShadeGuide, ShadeNote

__all__ = [
    "Component",
    "Dentition",
    "Device",
    "Implant",
    "Interruption",
    "Job",
    "Material",
    "Membership",
    "Order",
    "Paper",
    "Partnership",
    "Party",
    "Patient",
    "PatientIdentity",
    "Person",
    "Pin",
    "PinTries",
    "Prescription",
    "ResetRequest",
    "ShadeGuide",
    "ShadeNote",
    "System",
]
