"""What is done with guides and shade notes: entered and corrected."""

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from orders.events import announce
from orders.records import save_single
from orders.refusals import Refused
from orders.roles import CLINICAL_RECORDS, MANAGES_PARTY, Role
from orders.shades import rules
from orders.shades.models import ShadeGuide, ShadeNote

_TYPED = (
    *rules.ZONES,
    "gum_shade",
    "light",
    "light_k",
    "taken_before_drying",
    "taken_on",
    "whitening_ended_on",
    "note",
)


def save_shade(order, *, by, guide, seen_revision=None, at=None, **typed):
    """Write the shade note of an order, or its next revision."""
    at = at or timezone.now()
    unknown = set(typed) - set(_TYPED)
    if unknown:
        raise TypeError(f"no such fields of a shade note: {sorted(unknown)}")
    if guide.owner_id != order.practice_id:
        raise Refused(_("This guide is not one of your practice's."))
    note = ShadeNote.objects.filter(order=order).first()
    if note is None:
        note = ShadeNote(order=order)
    elif seen_revision is None:
        seen_revision = note.revision
    note.guide = guide
    for name, value in typed.items():
        setattr(note, name, value)
    found = rules.objections_to_shade(
        {name: getattr(note, name) for name in _TYPED}, guide.tabs, at.date()
    )
    if found:
        raise Refused(*(sentence for _field, sentence in found))
    return save_single(note, by=by, case=order.code, seen_revision=seen_revision)


def save_guide(*, by, name, tabs, guide=None, is_invented=False):
    """Enter one of the party's own guides, or correct its tabs."""
    if not by.has(*CLINICAL_RECORDS, *MANAGES_PARTY, Role.TECHNICIAN):
        raise PermissionDenied
    if guide is not None and guide.owner_id != by.party_id:
        raise PermissionDenied
    if not name.strip() or not tabs:
        raise Refused(_("A guide has a name and at least one tab."))
    guide = guide or ShadeGuide(owner=by.party, is_invented=is_invented)
    guide.name, guide.tabs = name.strip(), list(tabs)
    try:
        with transaction.atomic():
            guide.save()
            announce(
                "catalogue.changed",
                subject=f"{guide._meta.label}:{guide.pk}",
                by=by,
                facts={"component": str(guide), "tabs": guide.tabs},
            )
    except IntegrityError:
        raise Refused(
            _("You have a guide called {name} already.").format(name=name.strip())
        ) from None
    return guide
