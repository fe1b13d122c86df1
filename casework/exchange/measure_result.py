"""How is what was measured and found written down, as `casework-measure-result` version 1?"""

from dataclasses import replace
from decimal import Decimal

from casework import limits as default_limits
from casework.checks import all_names, load
from casework.findings.queries import in_words, run_check
from casework.measure.results import with_bound
from casework.measure.sets.facts import facts_of
from casework.measure.sets.told import PARTS, SCANS
from casework.measurements.queries import as_facts

FORMAT, VERSION = "casework-measure-result", 1
# Checks of files as such; they read what an inspection says of each.
OF_FILES = ("scans_readable", "scans_distinct", "design_readable")
CLEAR, FINDINGS, NOT_MEASURED = 0, 1, 2
OUTCOMES = {CLEAR: "nothing found", FINDINGS: "findings", NOT_MEASURED: "could not measure"}


def files_facts(told, done):
    """The fact `files` of the surfaces that were looked at, called by their names."""
    looked = {one.planned.subject: one for one in done if one.planned.step == "scan"}
    rows = []
    for file in told.files:
        if file.name in looked and file.role in SCANS:
            rows.append(_file_fact(file, looked[file.name]))
    return rows


def design_fact(told, done):
    """The fact `design` of the parts of a set, or None where it has none."""
    looked = {one.planned.subject: one for one in done if one.planned.step == "scan"}
    parts = []
    for file in told.files:
        if file.name in looked and file.role in PARTS:
            row = _file_fact(file, looked[file.name])
            parts.append(
                row
                | {
                    "file_number": file.name,
                    "file_state": row["state"],
                    "file_is_current": True,
                }
            )
    return {"parts": parts} if parts else None


def _file_fact(file, done):
    handed = done.values["handed"]
    problem = "" if done.is_measured else done.values["results"][0]["because"]
    return {
        "number": file.name,
        "role": file.role,
        "jaw": file.jaw,
        "sites": list(file.sites),
        "sha256": file.sha256,
        "state": "readable" if done.is_measured else "refused",
        "problem": problem,
        "is_confirmed": True,
        "party_side": "practice",
        "format": (handed.get("format") or "").rpartition(" ")[2],
        "unit_factor": file.unit_factor,
        "integrity": as_facts(handed.get("integrity")),
    }


def findings_of(facts, own_limits=None):
    """Findings, as rows, of the checks of files and of those that read nothing but measures."""
    limits = limits_with(own_limits or {})
    rows = []
    for name in all_names():
        check = load(name)
        if name in OF_FILES or set(check.reads) <= {"measured"}:
            for found in run_check(check, facts, limits):
                rows.append(_finding(name, check, found))
    return rows


def limits_with(own):
    """A reader of limits where some have a value and a source of their own."""

    def read(name):
        limit = default_limits.limit(name)
        if row := own.get(name):
            return replace(limit, value=Decimal(str(row["value"])), source=row["source"])
        return limit

    return read


def _finding(name, check, found):
    wrong, to_do = in_words(check, found)
    return {
        "weight": str(found.weight),
        "check": name,
        "code": found.code,
        "subject": found.subject,
        "says": wrong,
        "do": to_do,
        "measured": found.measured,
        "limit": found.limit,
        "source": found.source,
    }


def document(
    command, *, inputs=(), results=(), steps=(), not_told=(), findings=(), problems=()
):
    """The whole result; its exit code follows from what is in it."""
    unmeasured = [step for step in steps if not step["is_measured"]]
    if problems or unmeasured:
        code = NOT_MEASURED
    else:
        code = FINDINGS if findings else CLEAR
    return {
        "format": FORMAT,
        "version": VERSION,
        "command": command,
        "exit_code": code,
        "outcome": OUTCOMES[code],
        "inputs": list(inputs),
        "steps": list(steps),
        "results": list(results),
        "findings": list(findings),
        "not_told": list(not_told),
        "problems": list(problems),
        "caution": CAUTION,
    }


def of_steps(command, told, inputs, done, not_told):
    """The result of a plan that was run, judged by every check of measured values."""
    facts = {
        "measured": as_facts(facts_of(told, done, not_told)),
        "files": files_facts(told, done),
        "design": design_fact(told, done),
        "move": {"name": ""},
    }
    steps = [_step(one) for one in done]
    return document(
        command,
        inputs=inputs,
        steps=steps,
        results=[result for one in done for result in one.values["results"]],
        not_told=facts["measured"]["not_told"],
        findings=findings_of(facts, told.limits),
        problems=dict.fromkeys(
            step["because"] for step in facts["measured"]["steps"] if not step["is_measured"]
        ),
    )


def _step(done):
    return {
        "step": done.planned.step,
        "subject": done.planned.subject,
        "version": done.planned.version,
        "key": done.key,
        "is_measured": done.is_measured,
    }


def as_text(result):
    """The result for reading in a terminal."""
    lines = [f"{result['command']}: {result['outcome']}"]
    lines += [f"  cannot: {problem}" for problem in result["problems"]]
    for row in result["findings"]:
        told = f" (measured {row['measured']}, limit {row['limit']})" if row["limit"] else ""
        lines.append(f"  {row['weight']}: {row['says']}{told} {row['do']}")
    lines += [_line(row) for row in result["results"]]
    lines += [f"  not told: {row['step']} {row['subject']}: {row['because']}"
              for row in result["not_told"]]  # fmt: skip
    return "\n".join([*lines, result["caution"]])


def _line(row):
    name = f"  {row['quantity']} {row['subject']}".rstrip()
    if row["value"] is None:
        return f"{name}: not known, because {row['because']}"
    doubt = f" ± {row['uncertainty']:.3g}" if row["uncertainty"] is not None else ""
    words = with_bound(f"{row['value']:.4g}", row["details"])
    return f"{name}: {words}{doubt} {row['unit']}".rstrip()


def refused(command, *problems):
    """The result where nothing could be measured at all."""
    return document(command, problems=problems)


CAUTION = (
    "Computed from the scan and the design, not from the mouth. The component's and the"
    " material's own instructions, local codes and the licensed clinician decide."
)
