"""How is a file taken, and how is it refused so that nothing of it is left?"""

from contextlib import ExitStack
from dataclasses import dataclass, field

from django.db import transaction
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext as _

from casework.audit.services import record
from casework.cases.access import require
from casework.cases.models import Case
from casework.cases.queries import sites_of
from casework.cases.services import refresh_summary
from casework.evidence import formats, keeping
from casework.evidence.archives import unpack
from casework.evidence.incoming import TooLarge, incoming_from
from casework.evidence.models import Evidence
from casework.evidence.queries import facts_of, numbers_with_same_bytes
from casework.evidence.refusals import FileRefused
from casework.evidence.rules import (
    FILE_MAX_BYTES,
    MESH_ENDINGS,
    MESHES,
    ROLES,
    clean_name,
    ending_of,
    objections_to_role,
    propose,
    size_in_words,
)
from orders.jobs.services import enqueue
from orders.refusals import Refused


@dataclass
class Outcome:
    """What became of one file of an upload: taken as `evidence`, or refused with sentences."""

    name: str
    evidence: Evidence | None = None
    sentences: list = field(default_factory=list)
    was_there: bool = False

    @property
    def is_taken(self):
        return self.evidence is not None


@dataclass(frozen=True)
class Slot:
    """What the person said the files are; empty fields are proposed from each file's name."""

    role: str = ""
    jaw: str = ""
    sites: tuple = ()
    taken_on: object = None
    replaces: Evidence | None = None
    made_from: Evidence | None = None


def receive_upload(case, *, by, incoming, slot=None, at=None):
    """Take one uploaded file, or the files of an archive; returns an Outcome for each.

    `incoming` is an ended Incoming; what is refused leaves nothing but the trail's entry.
    """
    require(case, by, "add evidence")
    name = clean_name(incoming.name)
    with ExitStack() as keep:
        keep.callback(incoming.close)
        try:
            file_format = formats.format_of(incoming.path, name)
            if file_format != formats.ARCHIVE:
                return [_receive_or_refuse(case, by, incoming, name, slot, at)]
            unpacked = unpack(incoming.path, name, member_max=FILE_MAX_BYTES, keep=keep)
        except FileRefused as refusal:
            return [refuse_upload(case, by=by, name=name, refusal=refusal, at=at)]
        found = [
            _receive_or_refuse(case, by, member, clean_name(member.name), slot, at)
            for member in unpacked.files
        ]
        found += [
            refuse_upload(case, by=by, name=shown, refusal=refusal, at=at)
            for shown, refusal in unpacked.refused
        ]
        return found


def _receive_or_refuse(case, by, incoming, name, slot, at):
    try:
        return _receive(case, by, incoming, name, slot or Slot(), at or timezone.now())
    except FileRefused as refusal:
        return refuse_upload(case, by=by, name=name, refusal=refusal, at=at)


def receive_file(case, *, by, stream, name, slot=None, at=None):
    """Take one file from a stream; raises FileRefused where it is not taken.

    For callers in the program; pages use receive_upload, which answers for each file.
    """
    require(case, by, "add evidence")
    name = clean_name(name)
    try:
        incoming = incoming_from(stream, name, most=FILE_MAX_BYTES)
    except TooLarge:
        raise too_large(name) from None
    with incoming:
        return _receive(case, by, incoming, name, slot or Slot(), at or timezone.now())


def too_large(name):
    return FileRefused(
        _("{name} is larger than {most}, the most that is taken for one file.").format(
            name=name, most=size_in_words(FILE_MAX_BYTES)
        ),
        because="is too large",
    )


def refuse_upload(case, *, by, name, refusal, at=None):
    """Enter in the trail that an upload was refused, without its name; returns the Outcome."""
    with transaction.atomic():
        record(
            "evidence.refused",
            subject=case.subject,
            by=by,
            case=case.code,
            facts={"reason": refusal.because},
            at=at,
        )
    return Outcome(name, sentences=list(refusal.sentences))


def _receive(case, by, incoming, name, slot, at):
    """Judge, store, write the row. The bytes are stored before the transaction begins."""
    file_format = formats.format_of(incoming.path, name)
    if file_format == formats.ARCHIVE:
        raise FileRefused(
            _("{name} is an archive (ZIP); its files are taken one by one.").format(name=name),
            because="is an archive",
        )
    guess = propose(name, file_format, sites=sites_of(case))
    values = {
        "role": slot.role or guess.role,
        "jaw": slot.jaw or (guess.jaw if not slot.role or ROLES[slot.role].jaw else ""),
        "sites": list(slot.sites or guess.sites),
    }
    objections = objections_to_role(values["role"], file_format, values["jaw"], values["sites"])
    if slot.role and file_format not in ROLES[slot.role].formats:
        raise FileRefused(f"{name}: {objections[0]}", because="does not suit its role")
    if values["role"] in ROLES and file_format not in ROLES[values["role"]].formats:
        values["role"] = ""
    called = "" if slot.role else name
    if same := _same_in_slot(case, by, incoming.sha256, values, called):
        return _there_already(name, same)
    notes = formats.check_quickly(incoming.path, file_format, name)
    notes += _notes_on_name(name, file_format)
    size, sha256 = incoming.size, incoming.sha256
    where = {"party_id": by.party_id, "code": case.code}
    with keeping.kept(incoming.path, sha256=sha256, **where) as key:
        evidence, is_new = _write_row(
            case,
            by,
            slot,
            at,
            called,
            received_at=at,
            is_confirmed=bool(slot.role) and not objections,
            original_name=name,
            size_bytes=size,
            sha256=sha256,
            storage_key=key,
            format=file_format,
            taken_on=slot.taken_on,
            **values,
        )
    if not is_new:
        keeping.forget(key)
        return _there_already(name, evidence)
    notes += _notes_on_twins(evidence)
    return Outcome(name, evidence, notes)


def _write_row(case, by, slot, at, called, **fields):
    """(evidence, whether it is new): the case's row is locked, so that numbers have no gap."""
    with transaction.atomic():
        locked = (
            Case.objects.select_for_update(of=("self",), no_key=True)
            .select_related("order")
            .get(pk=case.pk)
        )
        require(locked, by, "add evidence")
        same = _same_in_slot(locked, by, fields["sha256"], fields, called)
        if same:
            return same, False
        last = locked.evidence.aggregate(Max("number"))["number__max"] or 0
        evidence = Evidence.objects.create(
            case=locked,
            party=by.party,
            received_by=by,
            number=last + 1,
            made_from=slot.made_from,
            **fields,
        )
        if slot.replaces is not None:
            supersede(slot.replaces, evidence, by, at)
        record(
            "evidence.received",
            subject=evidence.subject,
            by=by,
            case=locked.code,
            facts=facts_of(evidence),
            at=at,
        )
        enqueue("evidence.inspect", evidence.pk)
        refresh_summary(locked)
    return evidence, True


def _same_in_slot(case, by, sha256, values, called):
    """The own party's current file with the same bytes that is the same thing, or None.

    It is, where it was said to be so, and where nothing is said and it is `called` the same.
    """
    rows = Evidence.objects.filter(
        case=case, party=by.party, sha256=sha256, superseded_at=None
    ).exclude(state="refused")
    wanted = (values["role"], values["jaw"], list(values["sites"]))
    for row in rows.order_by("number"):
        if (row.role, row.jaw, row.sites) == wanted or called and row.original_name == called:
            return row
    return None


def _there_already(name, evidence):
    return Outcome(
        name,
        evidence,
        [
            _("{name} is there already, as file {number}; it was not taken twice.").format(
                name=name, number=evidence.number
            )
        ],
        was_there=True,
    )


def _notes_on_name(name, file_format):
    ending = ending_of(name)
    if file_format in MESHES and ending in MESH_ENDINGS and ending != file_format.lower():
        return [
            _("{name} is {format} by its content and was taken as that.").format(
                name=name, format=file_format
            )
        ]
    return []


def _notes_on_twins(evidence):
    twins = numbers_with_same_bytes(evidence)
    if not twins:
        return []
    return [
        _(
            "{name} holds the same bytes as file {number} (same SHA-256). If it was sent for"
            " another jaw, the wrong file was picked: the case is not complete with it."
        ).format(name=evidence.original_name, number=", ".join(map(str, twins)))
    ]


def supersede(old, new, by, at):
    """Put `new` in the place of `old`, in the caller's transaction."""
    old = locked_own(old, by)
    if new.case_id != old.case_id or new.party_id != old.party_id or new.pk == old.pk:
        raise Refused(_("A file is replaced by another one of the same case and party."))
    if not old.is_current:
        raise Refused(_("File {number} was replaced already.").format(number=old.number))
    old.superseded_by, old.superseded_at = new, at
    old.save(update_fields=["superseded_by", "superseded_at"])
    record(
        "evidence.superseded",
        subject=old.subject,
        by=by,
        case=old.case.code,
        facts={"number": old.number, "by_number": new.number},
        at=at,
    )


def locked_own(evidence, by):
    """The row, locked; refused where it is another party's."""
    row = (
        Evidence.objects.select_for_update(of=("self",), no_key=True)
        .select_related("case__order")
        .get(pk=evidence.pk)
    )
    if row.party_id != by.party_id:
        raise Refused(
            _("File {number} belongs to another party; only that party changes it.").format(
                number=row.number
            )
        )
    return row
