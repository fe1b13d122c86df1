"""How does a test get a party, a person, a patient, a case? One `make_` per noun."""

import itertools
from datetime import date

from orders.parties.models import Membership, Partnership, Party, Person
from orders.patients.models import Patient, PatientIdentity

_count = itertools.count(1)
PASSWORD = "correct horse battery staple"


def make_party(kind="practice", *, name="", partner_of=None, **fields):
    number = next(_count)
    party = Party.objects.create(
        kind=kind,
        name=name or f"{kind.replace('_', ' ').title()} {number}",
        join_code=f"JOIN-{number:05}",
        is_invented=True,
        **fields,
    )
    if partner_of:
        Partnership.objects.create(practice=partner_of, partner=party)
    return party


def make_member(party, *roles, name="", email="", password=PASSWORD, **fields):
    number = next(_count)
    person = Person.objects.create_user(
        email or f"person{number}@example.org",
        name or f"Person {number}",
        password,
        licence_number=f"L-{number:04}",
    )
    return Membership.objects.create(person=person, party=party, roles=list(roles), **fields)


def make_patient(practice, *, name="Quirina Testperson", birth_date=date(1968, 4, 2), **fields):
    patient = Patient.objects.create(
        practice=practice,
        code=fields.pop("code", f"P-{next(_count):05}"),
        sex=fields.pop("sex", "female"),
        age_band=fields.pop("age_band", "50-59"),
    )
    PatientIdentity.objects.create(patient=patient, name=name, birth_date=birth_date, **fields)
    return patient


def make_case(by, *, laboratory=None, patient=None, **fields):
    """A case at planning, opened through the service."""
    from casework.cases.services import open_case_for

    patient = patient or make_patient(by.party)
    return open_case_for(patient, by=by, laboratory=laboratory, **fields)
