"""How is an event written into the chain?"""

from django.db import transaction
from django.utils import timezone

from casework.audit.kinds import KINDS
from casework.audit.models import ChainHead, Entry
from casework.audit.naming import refuse_names
from orders.canonical import digest_of_bytes, text_of


class UnknownKind(Exception):
    """The kind of event is not in KINDS."""


def record(kind, *, subject, by=None, case="", facts=None, at=None):
    """Append one entry. Must run inside the transaction of what it records.

    Raises Refused where a typed text among the facts names the patient of the case.
    """
    if kind not in KINDS:
        raise UnknownKind(kind)
    refuse_names(kind, subject=subject, by=by, case=case, facts=facts or {})
    at = at or timezone.now()
    with transaction.atomic():
        head = ChainHead.objects.select_for_update().get(pk=1)
        seq = head.seq + 1
        entry = Entry(
            seq=seq,
            kind=kind,
            at=at,
            case=case,
            subject=subject,
            actor=actor_of(by, by.pk) if by else "",
            actor_name=by.person.name if by else "Casework",
            party_name=by.party.name if by else "",
            previous=head.digest,
        )
        entry.text = text_of(said_by(entry, facts or {}))
        entry.digest = link_digest(entry.previous, entry.text)
        entry.save(force_insert=True)
        ChainHead.objects.filter(pk=1).update(seq=seq, digest=entry.digest)
    return entry


def actor_of(membership, pk):
    """How the trail names who acted."""
    return f"{membership._meta.label}:{pk}"


def said_by(entry, facts):
    """Everything an entry says, as it is hashed."""
    return {
        "seq": entry.seq,
        "kind": entry.kind,
        "at": entry.at,
        "case": entry.case,
        "subject": entry.subject,
        "actor": entry.actor,
        "actor_name": entry.actor_name,
        "party_name": entry.party_name,
        "facts": facts,
    }


def link_digest(previous, text):
    """SHA-256 over the digest of the link before and the entry's canonical text."""
    return digest_of_bytes(f"{previous}\n{text}".encode())


def record_announced(sender, *, kind, subject, by, case, facts, **kwargs):
    """Listener for what orders announce."""
    record(kind, subject=subject, by=by, case=case, facts=facts)
