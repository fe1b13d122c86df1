"""How is a record changed so that no revision is lost and nobody overwrites unseen?"""

from django.db import IntegrityError, models, transaction
from django.utils.translation import gettext as _

from orders.canonical import digest_of
from orders.events import announce


class ChangedMeanwhile(Exception):
    """Somebody saved the record after this page was opened; `current` is what stands now."""

    def __init__(self, current):
        self.current = current
        super().__init__(
            _(
                "Somebody saved this record while it was open here. Nothing was overwritten. "
                "Compare what stands now with what you typed, and save again."
            )
        )


class Revised(models.Model):
    """A record that counts its revisions. `FACTS` names the fields that say what it says.

    `TYPED` says of those that a person types what kind of text they are: what of it may look
    like the patient's name.
    """

    revision = models.PositiveIntegerField(default=0)
    changed_at = models.DateTimeField(auto_now=True)

    FACTS = ()
    TYPED = {}
    PERSONAL = ()

    class Meta:
        abstract = True

    @property
    def subject(self):
        return f"{self._meta.label}:{self.pk}"

    def facts(self):
        """What the record says, as plain values; never a personal one."""
        return {name: _plain(getattr(self, name)) for name in self.FACTS}

    def digest(self):
        return digest_of(self.facts())


def _plain(value):
    return str(value) if isinstance(value, models.Model) else value


def save_record(record, *, by, case, seen_revision=None):
    """Write a new record, or the next revision of one seen at `seen_revision`.

    Raises ChangedMeanwhile where another revision stands by now.
    """
    with transaction.atomic():
        if record.pk is None:
            record.revision = 1
            record.save(force_insert=True)
        else:
            seen = record.revision if seen_revision is None else seen_revision
            taken = type(record).objects.filter(pk=record.pk, revision=seen)
            if not taken.update(revision=seen + 1):
                raise ChangedMeanwhile(type(record).objects.get(pk=record.pk))
            record.revision = seen + 1
            record.save()
        announce(
            "record.saved",
            subject=record.subject,
            by=by,
            case=case,
            facts={"revision": record.revision, "says": record.facts()},
        )
    return record


def save_single(record, *, by, case, seen_revision=None):
    """`save_record` for a record of which there is one only, found by its one-to-one field.

    A page opened before there was one has seen revision 0: one made meanwhile is a change.
    """
    try:
        with transaction.atomic():
            return save_record(record, by=by, case=case, seen_revision=seen_revision)
    except IntegrityError:
        single = next(field for field in record._meta.fields if field.one_to_one)
        held = {single.name: getattr(record, single.name)}
        raise ChangedMeanwhile(type(record).objects.get(**held)) from None


def remove_record(record, *, by, case, reason):
    """Take a record entered by mistake out; the trail keeps what it said and why it went."""
    with transaction.atomic():
        announce(
            "record.removed",
            subject=record.subject,
            by=by,
            case=case,
            facts={"revision": record.revision, "says": record.facts(), "reason": reason},
        )
        record.delete()
