"""What stands about a move: which checks hold on the present facts, what was answered?"""

import logging
import re
from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from casework import limits as default_limits
from casework.checks import Found, Weight, all_names, load
from casework.findings.facts import fetch_facts
from casework.findings.in_force import limits_of
from casework.findings.models import Answer, CheckRun, Finding, GateRun, PartyLimit
from orders.canonical import digest_of

logger = logging.getLogger(__name__)
# By which of its values a finding names the measured one that it judges.
_JUDGED = ("quantity", "of", "region")
NOT_KNOWN = "not_known"
_TEETH = re.compile(r"[1-8][1-8](-[1-8][1-8])?")


class LimitNotNamed(Exception):
    """A check read a limit that it does not name, so that no digest would cover it."""


@dataclass(frozen=True)
class Shown:
    """A finding as a person reads it."""

    key: str
    weight: str
    check: str
    title: str
    code: str
    subject: str
    wrong: str
    to_do: str
    measured: str = ""
    limit: str = ""
    source: str = ""
    answer: Answer | None = None
    # Which measured value it judges, as the check names it.
    judged: dict = field(default_factory=dict)

    @property
    def where(self):
        """The subject as people read it: a tooth says that it is meant as ISO 3950."""
        return subject_words(self.subject)

    @property
    def is_open_ask(self):
        return self.weight == Weight.ASK and self.answer is None


@dataclass(frozen=True)
class Group:
    """Findings that stand together on a page; named where one reason may answer them all."""

    findings: tuple
    name: str = ""


@dataclass(frozen=True)
class CheckStanding:
    """One check of a move on the present facts: run or not, and what it found."""

    name: str
    title: str
    facts_digest: str
    is_run: bool
    findings: tuple = ()
    expected: tuple = ()


@dataclass(frozen=True)
class Standing:
    """All checks of a move on the present facts."""

    checks: tuple = field(default_factory=tuple)

    @property
    def findings(self):
        order = list(Weight)
        found = [finding for check in self.checks for finding in check.findings]
        return sorted(found, key=lambda finding: order.index(finding.weight))

    @property
    def groups(self):
        """The findings in their order; open asks that say the same of several things as one."""
        alike = {}
        for finding in self.findings:
            key = (finding.check, finding.code) if finding.is_open_ask else finding.key
            alike.setdefault(key, []).append(finding)
        return [
            Group(tuple(found), f"{found[0].check}.{found[0].code}" if len(found) > 1 else "")
            for found in alike.values()
        ]

    @property
    def stops(self):
        return [f for f in self.findings if f.weight == Weight.STOP]

    @property
    def asks(self):
        return [f for f in self.findings if f.weight == Weight.ASK]

    @property
    def open_asks(self):
        return [f for f in self.findings if f.is_open_ask]

    @property
    def notes(self):
        return [f for f in self.findings if f.weight == Weight.NOTE]

    @property
    def not_run(self):
        return [check for check in self.checks if not check.is_run]

    @property
    def lets_pass(self):
        """Whether every check is run, none stops, and every ask has a reason."""
        return not (self.not_run or self.stops or self.open_asks)

    @property
    def expected(self):
        """What checks that are not run would find, where a preview was asked for."""
        order = list(Weight)
        found = [finding for check in self.checks for finding in check.expected]
        return sorted(found, key=lambda finding: order.index(finding.weight))

    @property
    def holding(self):
        return [check for check in self.checks if check.is_run and not check.findings]


def limits_to_set():
    """The limits that some check reads and that have a value to be replaced."""
    read = {name for check in all_names() for name in load(check).limits}
    return [row for row in default_limits.LIMITS.values() if row.name in read and row.value]


def limit_rows(party, on):
    """What a page says of each: title, unit, the values in force and by default, own rows."""
    own = {}
    rows = PartyLimit.objects.filter(party=party).select_related("set_by__person")
    for row in rows.order_by("-since", "-pk"):
        own.setdefault(row.name, []).append(row)
    in_force = limits_of(party, on)
    return [
        {
            "title": row.title,
            "unit": row.unit,
            "value": _figure(in_force(row.name).value),
            "default": _figure(row.value),
            "source": in_force(row.name).source,
            "own": [(_figure(one.value), one) for one in own.get(row.name, [])],
        }
        for row in limits_to_set()
    ]


def _figure(value):
    """A decimal without the zeros a column adds."""
    return format(value.normalize(), "f")


def limits_for(check, limits):
    """The same function for one check: it reads the limits that the check names, no others."""

    def read(name):
        if name not in check.limits:
            raise LimitNotNamed(name)
        return limits(name)

    return read


def digests_for(checks, facts, limits):
    """The digest of everything that each check reads, by the check's name."""
    of_facts = {name: digest_of({"fact": value}) for name, value in facts.items()}
    return {name: _digest_for(check, of_facts, limits) for name, check in checks.items()}


def _digest_for(check, of_facts, limits):
    """Digest of what one check reads: its facts, its limits in force, its version."""
    in_force = [limits(name) for name in check.limits]
    return digest_of(
        {
            "facts": {name: of_facts[name] for name in check.reads},
            "limits": [
                [row.name, row.value, row.low, row.high, row.hard, row.source]
                for row in in_force
            ],
            "version": check.version,
        }
    )


def key_of(name, found, facts_digest):
    """The identity of a question: new facts make a new question."""
    values = {key: plain(value) for key, value in found.values.items()}
    return digest_of([name, found.code, found.subject, values, facts_digest])


def plain(value):
    """A value of a finding as JSON holds it."""
    return value if isinstance(value, int | bool | str | None) else str(value)


def standing_of(case, move, *, on, for_acceptance=False, preview=False):
    """How the checks of a move stand on the present facts; reads only.

    With `preview` it also says what checks that are not run on these facts would find.
    """
    names = move.accept_checks if for_acceptance else move.checks
    checks = {name: load(name) for name in names}
    facts = fetch_facts(case, move, {r for c in checks.values() for r in c.reads}, on=on)
    limits = limits_of(case.order.practice, on)
    digests = digests_for(checks, facts, limits)
    runs = {}
    rows = CheckRun.objects.filter(
        gate_run__case=case, facts_digest__in=digests.values()
    ).prefetch_related("findings")
    for run in rows.order_by("pk"):
        runs[run.check_name, run.facts_digest, run.version] = run
    answers = {
        row.key: row
        for row in Answer.objects.filter(case=case, move=move.name).select_related("by__person")
    }
    standings = []
    for name, check in checks.items():
        run = runs.get((name, digests[name], check.version))
        found = () if run else preview and run_check(check, facts, limits)
        standings.append(
            CheckStanding(
                name,
                _(check.title),
                digests[name],
                run is not None,
                tuple(
                    shown(name, check, row, answers.get(row.key))
                    for row in (run.findings.all() if run else ())
                ),
                tuple(
                    shown(name, check, row)
                    for row in finding_rows(None, name, digests[name], found or ())
                ),
            )
        )
    return Standing(tuple(standings))


def last_found(case, party):
    """The newest gate that somebody of the party had checked, with what it found, or None."""
    run = (
        GateRun.objects.filter(case=case, state="done", asked_by__party=party)
        .prefetch_related("check_runs__findings")
        .order_by("-pk")
        .first()
    )
    if run is None:
        return None
    answers = {
        row.key: row
        for row in Answer.objects.filter(case=case, move=run.move).select_related("by__person")
    }
    order = list(Weight)
    found = [
        shown(check_run.check_name, load(check_run.check_name), row, answers.get(row.key))
        for check_run in run.check_runs.all()
        for row in check_run.findings.all()
    ]
    return {
        "move": run.move,
        "at": run.asked_at,
        "count": len(run.check_runs.all()),
        "findings": sorted(found, key=lambda finding: order.index(finding.weight)),
    }


def run_check(check, facts, limits):
    """What one check finds; a crash is a finding that stops, never a pass."""
    try:
        read = {name: facts[name] for name in check.reads}
        return list(check.run(read, limits_for(check, limits)))
    except Exception as problem:
        logger.exception("check %r crashed", check.title)
        return [Found(Weight.STOP, NOT_KNOWN, "", {"problem": type(problem).__name__})]


def findings_of_last(case, move_name):
    """What the last run of a move's checks found, in words, as plain values."""
    run = case.gate_runs.filter(move=move_name, for_acceptance=False, state="done")
    run = run.order_by("-pk").first()
    if run is None:
        return []
    found = Finding.objects.filter(check_run__gate_run=run).select_related("check_run")
    rows = []
    for row in found.order_by("pk"):
        says, to_do = in_words(load(row.check_run.check_name), row)
        rows.append(
            {
                "check": row.check_run.check_name,
                "weight": row.weight,
                "subject": row.subject,
                "says": says,
                "do": to_do,
                "measured": row.measured,
                "limit": row.limit,
                "source": row.source,
                **_judged(row),
            }
        )
    return rows


def finding_rows(check_run, name, facts_digest, found):
    """What was found as rows, not yet written."""
    return [
        Finding(
            check_run=check_run,
            key=key_of(name, one, facts_digest),
            weight=one.weight,
            code=one.code,
            subject=one.subject,
            values={key: plain(value) for key, value in one.values.items()},
            measured=one.measured,
            limit=one.limit,
            source=one.source,
        )
        for one in found
    ]


def shown(name, check, row, answer=None):
    """A stored finding in the reader's words."""
    wrong, to_do = in_words(check, row)
    return Shown(
        key=row.key,
        weight=row.weight,
        check=name,
        title=_(check.title),
        code=row.code,
        subject=row.subject,
        wrong=wrong,
        to_do=to_do,
        measured=row.measured,
        limit=row.limit,
        source=row.source,
        answer=answer,
        judged=_judged(row),
    )


def _judged(row):
    return {key: row.values[key] for key in _JUDGED if row.values.get(key)}


def in_words(check, found):
    """What is wrong and what to do, of a finding or of its row, in the reader's words."""
    wrong, to_do = sentences_of(check, found.code)
    values = _Values(found.values, subject=subject_words(found.subject))
    return _(wrong).format_map(values), _(to_do).format_map(values)


def subject_words(subject):
    """A tooth or a span says in sentences that it is meant as ISO 3950."""
    return f"ISO {subject}" if _TEETH.fullmatch(subject) else subject


def sentences_of(check, code):
    if code == NOT_KNOWN:
        return (
            "Not known, because the check could not be made: {problem}.",
            "Check again; if it stays so, tell whoever runs this service.",
        )
    return check.sentences[code]


class _Values(dict):
    def __init__(self, values, subject):
        super().__init__({"subject": subject} | values)

    def __missing__(self, key):
        return "?"
