"""What is done with a patient's record: entered, corrected, kept out of texts, erased."""

import secrets

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from orders.events import announce
from orders.patients import rules
from orders.patients.models import Patient, PatientIdentity
from orders.refusals import Refused
from orders.roles import PartyKind, Role

ENTERS = frozenset({Role.DENTIST, Role.FRONT_DESK})
# No letter or digit that is read as another.
_ALPHABET = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"
_IDENTITY = ("name", "birth_date", "chart_number")


def enter_patient(*, by, name, birth_date=None, sex="", chart_number="", at=None):
    """Put a patient on record at the practice of `by`."""
    at = at or timezone.now()
    _require_entering(by)
    _refuse_identity(name, birth_date, sex, at)
    with transaction.atomic():
        patient = Patient.objects.create(
            practice=by.party,
            code=_new_code(),
            sex=sex,
            age_band=rules.age_band(birth_date, at.date()),
        )
        PatientIdentity.objects.create(
            patient=patient, name=name.strip(), birth_date=birth_date, chart_number=chart_number
        )
        announce(
            "patient.entered", subject=_subject(patient), by=by, facts={"patient": patient.code}
        )
    return patient


def change_identity(patient, *, by, at=None, **changes):
    """Correct what identifies a patient; only the fields named are written."""
    at = at or timezone.now()
    _require_entering(by)
    if patient.practice_id != by.party_id or patient.erased_at:
        raise Refused(_("This patient is not on record at your practice."))
    unknown = set(changes) - {*_IDENTITY, "sex"}
    if unknown:
        raise TypeError(f"no such fields of a patient: {sorted(unknown)}")
    with transaction.atomic():
        identity = PatientIdentity.objects.select_for_update(no_key=True).get(patient=patient)
        for field in _IDENTITY:
            setattr(identity, field, changes.get(field, getattr(identity, field)))
        patient.sex = changes.get("sex", patient.sex)
        _refuse_identity(identity.name, identity.birth_date, patient.sex, at)
        identity.save(update_fields=[name for name in _IDENTITY if name in changes] or None)
        patient.age_band = rules.age_band(identity.birth_date, patient.entered_at.date())
        patient.save(update_fields=["sex", "age_band"])
        announce(
            "patient.identity_changed",
            subject=_subject(patient),
            by=by,
            facts={"patient": patient.code, "fields": sorted(changes)},
        )
    return patient


def erase_identity(patient, *, by, last_entry_on, at=None):
    """Take away what is personal of a patient once the records need no longer be kept.

    The row of the patient stays, with code, age band and sex, so that chain, manifests and
    signatures still verify. What else is personal is erased by whoever keeps it.
    """
    at = at or timezone.now()
    if not by.has(Role.ADMINISTRATOR) or patient.practice_id != by.party_id:
        raise PermissionDenied
    with transaction.atomic():
        identity = (
            PatientIdentity.objects.select_for_update(no_key=True)
            .filter(patient=patient)
            .first()
        )
        if identity is None:
            raise Refused(_("What is personal of this patient was erased already."))
        first = rules.may_erase_from(
            last_entry_on, identity.birth_date, patient.practice.retention_years
        )
        if at.date() < first.day:
            raise Refused(_("Not before that may anything be erased."), first.reason)
        identity.delete()
        patient.erased_at = at
        patient.save(update_fields=["erased_at"])
        announce(
            "patient.erased",
            subject=_subject(patient),
            by=by,
            facts={"patient": patient.code, "kept_until": first.day},
        )


def _require_entering(by):
    if by.party.kind != PartyKind.PRACTICE or not by.has(*ENTERS):
        raise PermissionDenied


def _refuse_identity(name, birth_date, sex, at):
    if not (name or "").strip():
        raise Refused(_("Type the patient's name."))
    if sex and sex not in rules.SEXES:
        raise Refused(_("Choose the sex from the list."))
    if found := rules.objections_to_birth_date(birth_date, at.date()):
        raise Refused(*found)


def _new_code():
    while True:
        code = "P-" + "".join(secrets.choice(_ALPHABET) for _place in range(6))
        if not Patient.objects.filter(code=code).exists():
            return code


def _subject(patient):
    return f"{patient._meta.label}:{patient.pk}"
