"""Who takes part in the demo, and what is in its catalogue? All invented; loaded once."""

import json
from datetime import date, timedelta
from decimal import Decimal
from types import SimpleNamespace

from django.conf import settings
from django.db import transaction

from orders.catalogue.models import Component, Material, System
from orders.parties.models import Membership, Partnership, Party, Person
from orders.patients.models import PatientIdentity
from orders.patients.services import enter_patient
from orders.shades.models import ShadeGuide

FIXTURES = settings.BASE / "fixtures"


def read(name):
    return json.loads((FIXTURES / name).read_text())


def load_scenario():
    """The cast, catalogue and patients by their keys; what is there already is kept."""
    told = read("scenario.json")
    with transaction.atomic():
        load_catalogue()
        parties = {row["key"]: _party(row) for row in told["parties"]}
        for one, other in told["partnerships"]:
            Partnership.objects.get_or_create(practice=parties[one], partner=parties[other])
        members = {
            row["key"]: _member(row, parties[row["party"]], told["password"])
            for row in told["members"]
        }
        guide = told["guide"]
        ShadeGuide.objects.get_or_create(
            owner=parties[guide["owner"]],
            name=guide["name"],
            defaults={"tabs": guide["tabs"], "is_invented": True},
        )
        patients = {row["key"]: _patient(row, members["desk"]) for row in told["patients"]}
    return SimpleNamespace(
        parties=parties, members=members, patients=patients, password=told["password"]
    )


def _party(row):
    fields = {name: row[name] for name in ("kind", "address", "country", "region", "time_zone")}
    party, _made = Party.objects.get_or_create(
        name=row["name"],
        defaults=fields | {"join_code": f"DEMO-{row['key']}".upper(), "is_invented": True},
    )
    return party


def _member(row, party, password):
    person = Person.objects.filter(email=row["email"]).first()
    if person is None:
        person = Person.objects.create_user(
            row["email"],
            row["name"],
            password,
            licence_number=row.get("licence_number", ""),
        )
    member, _made = Membership.objects.get_or_create(
        person=person, party=party, defaults={"roles": row["roles"]}
    )
    return member


def _patient(row, by):
    known = PatientIdentity.objects.filter(
        patient__practice=by.party, chart_number=row["chart_number"]
    ).first()
    if known:
        return known.patient
    return enter_patient(
        by=by,
        name=row["name"],
        birth_date=date.fromisoformat(row["birth_date"]),
        sex=row["sex"],
        chart_number=row["chart_number"],
    )


def load_catalogue():
    """The shared, invented rows of the catalogue."""
    told = read("catalogue.json")
    for name in told["systems"]:
        System.objects.get_or_create(owner=None, name=name, defaults={"is_invented": True})
    for row in told["components"]:
        if Component.objects.filter(owner=None, part_number=row["part_number"]).exists():
            continue
        driver = Component.objects.filter(owner=None, part_number=row.get("driver")).first()
        Component.objects.create(
            owner=None,
            system=System.objects.get(owner=None, name=row["system"]),
            driver=driver,
            kind=row["kind"],
            part_number=row["part_number"],
            name=row["name"],
            connection=row.get("connection", ""),
            platform=row.get("platform", ""),
            dimensions=row.get("dimensions", {}),
            torque_ncm=Decimal(row["torque_ncm"]) if "torque_ncm" in row else None,
            uses_max=row.get("uses_max"),
            material=row.get("material", ""),
            source="invented",
            is_verified=True,
        )
    for row in told["materials"]:
        Material.objects.get_or_create(
            owner=None,
            name=row["name"],
            defaults={
                "family": row["family"],
                "strength_class": row["strength_class"],
                "flexural_strength_mpa": row.get("flexural_strength_mpa"),
                "composition": row["composition"],
                "limits": row["limits"],
                "source": "invented",
                "is_invented": True,
            },
        )


def component(part_number):
    """A shared component by its number."""
    return Component.objects.get(owner=None, part_number=part_number)


def material(name):
    """A shared material by its name."""
    return Material.objects.get(owner=None, name=name)


def days(at, count):
    """The moment so many days later."""
    return at + timedelta(days=count)
