"""Who takes part in a benchmark: one practice, one laboratory, one member for each role."""

from types import SimpleNamespace

from django.core.management import call_command
from django.test import Client

from casework.cases.services import open_case_for
from orders.parties.models import Membership, Partnership, Party, Person
from orders.patients.models import Patient, PatientIdentity

MEMBERS = (
    ("practice", "dentist"),
    ("practice", "front desk"),
    ("practice", "coordinator"),
    ("laboratory", "technician"),
    ("laboratory", "coordinator"),
)


def make_database():
    # Tables of an app without migrations are made from its models.
    call_command("migrate", verbosity=0, interactive=False, run_syncdb=True)


def make_cast(mark="a"):
    """Parties and members, all invented; `mark` tells one pair of parties from another."""
    parties = {
        kind: Party.objects.create(
            kind=kind,
            name=f"Invented {kind} {mark}",
            join_code=f"{kind.upper()}-{mark}",
            is_invented=True,
        )
        for kind in ("practice", "laboratory")
    }
    Partnership.objects.create(practice=parties["practice"], partner=parties["laboratory"])
    members = {}
    for kind, role in MEMBERS:
        person = Person.objects.create_user(
            f"{role.replace(' ', '-')}@{kind}-{mark}.example.org", f"{role} of the {kind}", None
        )
        members[kind, role] = Membership.objects.create(
            person=person, party=parties[kind], roles=[role]
        )
    return SimpleNamespace(**parties, members=members)


def open_case(cast, number=1):
    """A new case of the practice's dentist with the laboratory; each number has its patient."""
    patient = Patient.objects.create(practice=cast.practice, code=f"P-{number:05}")
    PatientIdentity.objects.create(patient=patient, name="Benna Invented")
    dentist = cast.members["practice", "dentist"]
    return open_case_for(patient, by=dentist, laboratory=cast.laboratory)


def signed_in(member):
    client = Client(headers={"host": "localhost"})
    client.force_login(member.person, backend="django.contrib.auth.backends.ModelBackend")
    return client
