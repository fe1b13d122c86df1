"""How is a gate asked for, run in the background, and an ask answered?"""

import logging
from zoneinfo import ZoneInfo

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from casework.audit.services import record
from casework.cases.access import require
from casework.cases.queries import open_offer, side_of
from casework.cases.rules import may_act, may_move
from casework.checks import Weight, load
from casework.evidence.keeping import digest_of_stored
from casework.findings.facts import fetch_facts
from casework.findings.facts.work import with_verified
from casework.findings.measuring import measure_missing, words_of
from casework.findings.models import Answer, CheckRun, Finding, GateRun, PartyLimit
from casework.findings.queries import (
    NOT_KNOWN,
    digests_for,
    finding_rows,
    limits_of,
    limits_to_set,
    run_check,
    standing_of,
)
from casework.stages import NoSuchMove, find_move
from orders.jobs.services import enqueue, finish, renew
from orders.refusals import Refused
from orders.roles import PartyKind, Role

logger = logging.getLogger(__name__)


def set_limit(*, by, name, value, source, at=None):
    """Replace a limit at the practice of `by` from today on; the rows before it stay."""
    at = at or timezone.now()
    if by.party.kind != PartyKind.PRACTICE or not by.has(Role.ADMINISTRATOR):
        raise PermissionDenied
    limit = next((row for row in limits_to_set() if row.name == name), None)
    if limit is None:
        raise Refused(_("There is no limit of that name to be replaced."))
    if value is None or value <= 0:
        raise Refused(_("The value of a limit is more than 0."))
    if not source.strip():
        raise Refused(_("Say where the value comes from."))
    with transaction.atomic():
        row = PartyLimit.objects.create(
            party=by.party,
            name=name,
            value=value,
            source=source.strip(),
            since=at.astimezone(ZoneInfo(by.party.time_zone)).date(),
            set_by=by,
        )
        record(
            "limit.set",
            subject=f"{row._meta.label}:{row.pk}",
            by=by,
            facts={
                "limit": limit.title,
                "name": name,
                "value": row.value,
                "unit": limit.unit,
                "since": row.since,
                "source": row.source,
            },
            at=at,
        )
    return row


def ask_for_gate(case, *, move, by, for_acceptance=False, at=None):
    """Have the checks of a move run on the present facts, in the background."""
    with transaction.atomic():
        require(case, by, "ask for checks")
        run = GateRun.objects.create(
            case=case,
            move=move.name,
            for_acceptance=for_acceptance,
            asked_by=by,
            asked_at=at or timezone.now(),
        )
        enqueue("findings.gate", run.pk)
    return run


def ask_for_measures(case, *, by):
    """Have everything measured that the case gives ground for, in the background."""
    with transaction.atomic():
        require(case, by, "ask for checks")
        enqueue("findings.measure", case.pk)


def run_gate(gate_run_id, job):
    """Run the checks; each leaves a row with the digest of every fact it read.

    Whoever ends the run first writes; a second delivery of the job finds it done.
    """
    run = GateRun.objects.select_related("case__order__practice", "asked_by__person").get(
        pk=gate_run_id
    )
    at = timezone.now()
    results, offer, verified = [], None, None
    if run.state == "waiting" and (move := _move_of(run)):
        if run.for_acceptance and (offer := open_offer(run.case)):
            verified = stored_digests(offer)
        if reads_measures(move):
            measure_missing(run.case, progress=lambda step: renew(job, progress=words_of(step)))
        # The day it counts from is the day it was asked for, however late the worker comes.
        results = _check_all(run, move, verified, run.asked_at)
    with transaction.atomic():
        finish(job)
        ended = GateRun.objects.filter(pk=run.pk, state="waiting")
        if not ended.update(state="done", done_at=at) or not results:
            return
        if verified is not None:
            _keep_verified(offer, verified)
        counts = dict.fromkeys(Weight, 0)
        for name, check, facts_digest, found in results:
            _write(run, name, check, facts_digest, found)
            for one in found:
                counts[one.weight] += 1
        record(
            "gate.checked",
            subject=f"{run._meta.label}:{run.pk}",
            by=run.asked_by,
            case=run.case.code,
            facts={
                "move": run.move,
                "stops": counts[Weight.STOP],
                "asks": counts[Weight.ASK],
                "notes": counts[Weight.NOTE],
            },
        )


def _move_of(run):
    """The move, or None where the case moved on and nobody waits for its checks any more."""
    try:
        return find_move(run.case.stage, run.move)
    except NoSuchMove:
        return None


def reads_measures(move):
    """Does a check of the move judge measured values?"""
    return any("measured" in load(name).reads for name in move.checks + move.accept_checks)


def _check_all(run, move, verified, at):
    """Name, check, digest of its facts and findings for every check of the move."""
    names = move.accept_checks if run.for_acceptance else move.checks
    checks = {name: load(name) for name in names}
    reads = {read for check in checks.values() for read in check.reads}
    facts = fetch_facts(run.case, move, reads, on=at.date())
    if verified is not None and facts.get("manifest"):
        facts["manifest"] = with_verified(facts["manifest"], verified)
    limits = limits_of(run.case.order.practice, at.date())
    digests = digests_for(checks, facts, limits)
    return [
        (name, check, digests[name], run_check(check, facts, limits))
        for name, check in checks.items()
    ]


def stored_digests(offer):
    """SHA-256 of the bytes that lie in storage for each file of an offer, or "missing"."""
    lines = offer.files.select_related("evidence__derived")
    return {
        str(line.evidence.number): digest_of_stored(_key(line.evidence, offer.to_party_id))
        for line in lines
    }


def _key(file, receiver_id):
    """Where the bytes lie that the receiver gets: the copy's, or those of its own file."""
    copy = getattr(file, "derived", None)
    return (copy if copy and file.party_id != receiver_id else file).storage_key


def _keep_verified(offer, verified):
    """Note what the bytes said, unless the offer was amended or answered meanwhile."""
    same = type(offer).objects.filter(
        pk=offer.pk, state="offered", manifest_number=offer.manifest_number
    )
    same.update(verified=verified)


def _write(run, name, check, facts_digest, found):
    unknown = any(one.code == NOT_KNOWN for one in found)
    row = CheckRun.objects.create(
        gate_run=run,
        check_name=name,
        version=check.version,
        facts_digest=facts_digest,
        outcome="not known" if unknown else "found" if found else "holds",
    )
    Finding.objects.bulk_create(finding_rows(row, name, facts_digest, found))


def answer_asks(case, *, move, reasons, by, for_acceptance=False, at=None):
    """Give the responsible person's reasons for open asks: a dictionary from key to text."""
    at = at or timezone.now()
    reasons = {key: text.strip() for key, text in reasons.items() if text.strip()}
    with transaction.atomic():
        _require_answering(case, move, by, for_acceptance)
        standing = standing_of(case, move, on=at.date(), for_acceptance=for_acceptance)
        asks = {finding.key: finding for finding in standing.asks}
        for key, text in reasons.items():
            if key not in asks:
                raise Refused(
                    _("What was asked has changed since; read the findings again and answer.")
                )
            finding = asks[key]
            Answer.objects.update_or_create(
                case=case,
                key=key,
                move=move.name,
                defaults={
                    "check_name": finding.check,
                    "code": finding.code,
                    "subject": finding.subject,
                    "reason": text,
                    "by": by,
                    "at": at,
                },
            )
            record(
                "finding.answered",
                subject=case.subject,
                by=by,
                case=case.code,
                facts={
                    "check": finding.check,
                    "title": finding.title,
                    "code": finding.code,
                    "subject": finding.subject,
                    "reason": text,
                    "key": key,
                },
                at=at,
            )


def _require_answering(case, move, by, for_acceptance):
    """Only whoever may make or accept the move is responsible for what it asks."""
    side = side_of(case, by.party)
    if for_acceptance:
        may = side == move.to_side and may_act("answer offers", side, by.role_set)
    else:
        may = may_move(move, side, by.role_set)
    if not may:
        raise PermissionDenied
