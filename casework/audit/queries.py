"""What does the trail say, and does it still hold?"""

import json
from dataclasses import dataclass

from django.db.models import Q

from casework.audit.kinds import KINDS
from casework.audit.models import ChainHead, Entry
from casework.audit.services import actor_of, link_digest, said_by
from orders.canonical import text_of
from orders.parties.models import Membership


@dataclass(frozen=True)
class Line:
    """One line of a trail as people read it."""

    seq: int
    at: object
    who: str
    party: str
    what: str
    kind: str
    facts: dict


# What both sides of a handoff may read; everything else is read by the party that did it.
SHARED = (
    "case.moved",
    "case.held",
    "case.released",
    "case.promised",
    "case.cancel_asked",
    "handoff.offered",
    "handoff.amended",
    "handoff.accepted",
    "handoff.returned",
    "handoff.withdrawn",
    "handoff.taken_up",
    "condition.met",
    "signature.given",
    "signature.voided",
    "question.asked",
    "question.answered",
    "parcel.sent",
    "parcel.arrived",
    "parcel.lost",
)


def trail_of(code, *, party, since=None):
    """The lines of one case that a party reads, oldest first: its own, and what is shared.

    Its own are known by who acted: names of parties change, and two may have the same.
    """
    entries = Entry.objects.filter(case=code)
    members = Membership.objects.filter(party=party).values_list("pk", flat=True)
    own = Q(actor__in=[actor_of(Membership, pk) for pk in members])
    shared = Q(kind__in=SHARED)
    if since:
        shared &= Q(at__gte=since)
    return [_line(entry) for entry in entries.filter(own | shared).order_by("seq")]


def _line(entry):
    facts = json.loads(entry.text)["facts"]
    words = _Facts(facts, subject=_plain_subject(entry.subject))
    if role := facts.get("role"):
        words["role"] = role.replace("_", " ")
    if "move" in facts:
        words["move"] = f"“{facts['move'].replace('_', ' ')}”"
    return Line(
        entry.seq,
        entry.at,
        entry.actor_name,
        entry.party_name,
        KINDS[entry.kind].format_map(words),
        entry.kind,
        facts,
    )


class _Facts(dict):
    def __init__(self, facts, **more):
        super().__init__(more | facts)

    def __missing__(self, key):
        return "?"


def _plain_subject(subject):
    label, _, number = subject.partition(":")
    words = "".join(f" {c.lower()}" if c.isupper() else c for c in label.rpartition(".")[2])
    return f"{words.strip()} {number}".strip()


@dataclass(frozen=True)
class Broken:
    """The first place where the chain does not hold."""

    seq: int
    why: str


def first_break(saved_head=""):
    """The first broken entry, or None where the whole chain holds.

    A tail that was cut off together with the head verifies without a witness: hand in the
    digest of a head saved earlier (`verify_audit --head`), which must be found in the chain.
    """
    saved_head = saved_head.strip().lower()
    previous, seq = "0" * 64, 0
    seen = previous == saved_head
    for entry in Entry.objects.order_by("seq").iterator(2000):
        seq += 1
        if why := _why_broken(entry, seq, previous):
            return Broken(min(entry.seq, seq), why)
        previous = entry.digest
        seen = seen or previous == saved_head
    head = ChainHead.objects.filter(pk=1).first()
    if head is None:
        return Broken(seq, "the head of the chain is missing")
    if (head.seq, head.digest) != (seq, previous):
        # Behind a head that fell short stands what was added without it.
        first = seq if head.seq == seq else min(head.seq, seq) + 1
        return Broken(first, f"the head says {head.seq} entries, the chain ends at {seq}")
    if saved_head and not seen:
        return Broken(seq + 1, "the saved head is not in the chain: entries were cut off")
    return None


def _why_broken(entry, seq, previous):
    if entry.seq > seq:
        return f"entry {seq} is missing"
    if entry.seq < seq:
        return f"it stands before entry {seq}, where none belongs"
    if entry.previous != previous:
        return "it does not follow the entry before it"
    if entry.digest != link_digest(entry.previous, entry.text):
        return "its text or its digest was changed"
    try:
        said = said_by(entry, json.loads(entry.text)["facts"])
    except (ValueError, TypeError, KeyError):
        return "its text cannot be read"
    if text_of(said) != entry.text:
        return "its columns do not say what was hashed"
    return None
