"""What is done with a prescription: drafted, amended, signed and so fixed, withdrawn."""

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext as _

from orders.events import announce
from orders.prescriptions import rules, units
from orders.prescriptions.models import Prescription
from orders.prescriptions.queries import draft_of, facts_for_rules, signed_of
from orders.records import ChangedMeanwhile, remove_record
from orders.refusals import Refused, refuse_unlisted
from orders.roles import PRESCRIBES, Role

WRITES = PRESCRIBES | {Role.ASSISTANT}
FIELDS = tuple(name for name in Prescription.FACTS if name != "number")
_SITE_FIELDS = ("level", "engaging", "build", "abutment_material", "base_material")


def save_draft(prescription, *, by, seen_revision=None, **typed):
    """Write the fields named into a draft seen at `seen_revision`; the others stay.

    A draft may be incomplete; what it says must be readable. Raises ChangedMeanwhile where
    somebody saved it since, and Refused where it is no draft any more.
    """
    _require_writing(prescription.order, by)
    unknown = set(typed) - set(FIELDS)
    if unknown:
        raise TypeError(f"no such fields of a prescription: {sorted(unknown)}")
    refuse_unlisted(typed, rules.CHOSEN)
    with transaction.atomic():
        seen = prescription.revision if seen_revision is None else seen_revision
        _take(prescription, seen)
        prescription.refresh_from_db()
        for name, value in typed.items():
            setattr(prescription, name, value)
        tidy(prescription)
        _refuse_foreign_material(prescription)
        prescription.save()
        announce(
            "record.saved",
            subject=prescription.subject,
            by=by,
            case=prescription.order.code,
            facts={"revision": prescription.revision, "says": prescription.facts()},
        )
    return prescription


def _take(prescription, seen):
    """Move the draft one revision on, if it still stands at the one that was seen."""
    rows = Prescription.objects.filter(pk=prescription.pk, state="draft")
    if rows.filter(revision=seen).update(revision=seen + 1):
        return
    current = Prescription.objects.filter(pk=prescription.pk).first()
    if current is None:
        raise Refused(_("This draft was withdrawn. Begin an amendment to change the order."))
    if current.state != "draft":
        raise Refused(
            _("This prescription is signed and is never changed. Begin an amendment instead.")
        )
    raise ChangedMeanwhile(current)


def tidy(prescription):
    """Bring a draft into the form that is stored, before it is saved or looked at."""
    prescription.units = units.normalised(prescription.units)
    on_implants = prescription.implant_sites
    prescription.sites = {
        site: {name: chosen.get(name, "") for name in _SITE_FIELDS}
        for site, chosen in prescription.sites.items()
        if site in on_implants
    }
    material = prescription.material
    if material is not None:
        prescription.material_family = material.family
        prescription.strength_class = material.strength_class
    if prescription.retention == "screw":
        prescription.margin_depth_mm = None


def _refuse_foreign_material(prescription):
    material, order = prescription.material, prescription.order
    seen = {None, order.practice_id, order.laboratory_id}
    if material is not None and material.owner_id not in seen:
        raise Refused(_("{material} is not in your catalogue.").format(material=material))


def begin_amendment(order, *, by):
    """Begin the next prescription as a copy of the signed one."""
    _require_writing(order, by)
    signed = signed_of(order)
    if signed is None:
        raise Refused(_("Nothing is signed yet. Change the draft instead."))
    if draft_of(order) is not None:
        raise Refused(_("An amendment was begun already. Change that one."))
    last = order.prescriptions.aggregate(last=Max("number"))["last"]
    copied = {name: getattr(signed, name) for name in FIELDS}
    try:
        with transaction.atomic():
            draft = Prescription.objects.create(order=order, number=last + 1, **copied)
            announce(
                "prescription.amended",
                subject=draft.subject,
                by=by,
                case=order.code,
                facts={"number": draft.number, "from": signed.number},
            )
    except IntegrityError:
        raise Refused(_("An amendment was begun already. Change that one.")) from None
    return draft


def withdraw_draft(prescription, *, by):
    """Drop an amendment that was begun; the signed prescription stays in force."""
    _require_writing(prescription.order, by)
    if prescription.state != "draft":
        raise Refused(_("A signed prescription is not withdrawn. Begin an amendment."))
    if signed_of(prescription.order) is None:
        raise Refused(_("This is the order's only prescription. Change it instead."))
    remove_record(
        prescription,
        by=by,
        case=prescription.order.code,
        reason=_("amendment withdrawn"),
    )


def objections_to(prescription, *, today):
    """What is missing from it and what does not go together: two tuples of objections."""
    told = facts_for_rules(prescription)
    facts = told.pop("facts")
    return rules.missing_from(facts), rules.incoherent(facts, today=today, **told)


def sign_prescription(prescription, *, by, at=None, seen_revision=None):
    """Fix a draft as the prescription in force; the one before it is superseded.

    The caller has asked for the password again and writes the signature itself. Refused where
    something is missing or incoherent: what is signed is what the laboratory works on.
    """
    at = at or timezone.now()
    order = prescription.order
    if not by.has(*PRESCRIBES) or by.party_id != order.practice_id:
        raise PermissionDenied
    if order.prescriber_id != by.pk:
        raise Refused(
            _(
                "The case is in the name of {name}, and nobody signs for another. Have the case"
                " passed to you first."
            ).format(name=order.prescriber.person.name)
        )
    found = [one for group in objections_to(prescription, today=at.date()) for one in group]
    if stops := [one.sentence for one in found if one.is_stop]:
        raise Refused(*stops)
    with transaction.atomic():
        seen = prescription.revision if seen_revision is None else seen_revision
        _take(prescription, seen)
        before = signed_of(order)
        if before is not None:
            before.state = "superseded"
            before.save(update_fields=["state"])
        prescription.refresh_from_db()
        prescription.state, prescription.signed_by = "signed", by
        prescription.signed_at, prescription.signed_digest = at, prescription.digest()
        prescription.save()
        announce(
            "prescription.signed",
            subject=prescription.subject,
            by=by,
            case=order.code,
            facts={"number": prescription.number, "digest": prescription.signed_digest},
        )
    return prescription


def _require_writing(order, by):
    if by.party_id != order.practice_id or not by.has(*WRITES):
        raise PermissionDenied
