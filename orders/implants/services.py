"""What is done with the record of implants and teeth: written, corrected, taken out."""

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from orders.implants import rules
from orders.implants.models import Dentition, Implant
from orders.implants.queries import implant_facts
from orders.patients.queries import birth_date_of
from orders.records import remove_record, save_record, save_single
from orders.refusals import Refused, refuse_unlisted
from orders.teeth import in_arch_order, read_tooth

# Taken over from the catalogue where they were not typed.
_DIMENSIONS = ("platform_diameter_mm", "body_diameter_mm", "length_mm")
_TYPED = (
    "component",
    "system",
    "connection",
    "platform",
    *_DIMENSIONS,
    "lot",
    "identifier",
    "identified_how",
    "placed_on",
    "placed_by",
    "soft_tissue",
    "healing_abutment_height_mm",
)


def save_implant(
    patient,
    *,
    by,
    case_code,
    site,
    implant=None,
    seen_revision=None,
    at=None,
    **typed,
):
    """Write the record of one implant, or its next revision.

    What is known of a catalogue component is taken over where it was not typed. Refused where
    it cannot be: placed in the future or before birth, or another implant stands at the site.
    """
    at = at or timezone.now()
    unknown = set(typed) - set(_TYPED)
    if unknown:
        raise TypeError(f"no such fields of an implant: {sorted(unknown)}")
    read_tooth(site, "iso")
    _refuse_foreign(typed.get("component"), by)
    refuse_unlisted(typed, {"soft_tissue": rules.SOFT_TISSUE})
    if implant is None:
        implant = Implant(patient=patient)
    implant.site = site
    for name, value in typed.items():
        setattr(implant, name, value)
    if implant.component is not None:
        _take_over(implant, implant.component)
    _refuse_impossible(implant, patient, at)
    try:
        with transaction.atomic():
            return save_record(implant, by=by, case=case_code, seen_revision=seen_revision)
    except IntegrityError:
        raise Refused(
            _("An implant is recorded at {site} (ISO 3950) already. Correct that one.").format(
                site=site
            )
        ) from None


def _take_over(implant, component):
    if component.system and not implant.system:
        implant.system = component.system.name
    for name in ("connection", "platform"):
        if not getattr(implant, name):
            setattr(implant, name, getattr(component, name))
    for name in _DIMENSIONS:
        if getattr(implant, name) is None and component.dimensions.get(name):
            setattr(implant, name, component.dimensions[name])
    # Text of the catalogue becomes the exact number that the field keeps.
    for name in _DIMENSIONS:
        field = Implant._meta.get_field(name)
        setattr(implant, name, field.to_python(getattr(implant, name)))


def _refuse_foreign(component, by):
    if component is None:
        return
    if component.kind != "implant":
        raise Refused(_("{part} is not an implant.").format(part=component))
    if component.owner_id not in (None, by.party_id):
        raise Refused(_("This component is not in your catalogue."))


def _refuse_impossible(implant, patient, at):
    found = rules.implausible(
        implant_facts(implant), today=at.date(), birth_date=birth_date_of(patient), usual={}
    )
    stops = [one.sentence for one in found if one.is_stop]
    if stops:
        raise Refused(*stops)


def remove_implant(implant, *, by, case_code, reason):
    """Take out an implant recorded by mistake; the trail keeps what it said."""
    if not reason.strip():
        raise Refused(_("Say why the record of the implant is taken out."))
    remove_record(implant, by=by, case=case_code, reason=reason)


def save_dentition(
    patient, *, by, case_code, present, prepared=(), checked_on, seen_revision=None, at=None
):
    """Write which teeth exist and which of them are prepared."""
    at = at or timezone.now()
    present, prepared = in_arch_order(present), in_arch_order(prepared)
    strange = [tooth for tooth in prepared if tooth not in present]
    if strange:
        raise Refused(
            _("{teeth} (ISO 3950) cannot be prepared: no tooth is recorded there.").format(
                teeth=", ".join(strange)
            )
        )
    if checked_on > at.date():
        raise Refused(_("The day the teeth were looked at is still to come."))
    dentition = Dentition.objects.filter(patient=patient).first()
    if dentition is None:
        dentition = Dentition(patient=patient)
    elif seen_revision is None:
        seen_revision = dentition.revision
    dentition.present, dentition.prepared = list(present), list(prepared)
    dentition.checked_on = checked_on
    return save_single(dentition, by=by, case=case_code, seen_revision=seen_revision)
