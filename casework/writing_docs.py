"""What do the tables say, as pages for people?"""

from casework import checks, limits, stages
from casework.limits import connectors

MADE = (
    "<!-- Written by `python3 manage.py write_docs`; a test compares it with the tables. -->\n"
)


def _table(head, rows):
    lines = ["| " + " | ".join(head) + " |", "|" + " --- |" * len(head)]
    lines += ["| " + " | ".join(str(cell) for cell in row) + " |" for row in rows]
    return "\n".join(lines) + "\n"


def stages_page():
    """docs/stages.md: who holds which stage, and every move."""
    held = _table(
        ("stage", "held by"),
        [(stage, stages.HELD_BY[stage] or "nobody") for stage in stages.Stage],
    )
    moves = _table(
        ("move", "from → to", "by", "handoff", "needs", "to accept", "papers"),
        [
            (
                f"{move.title} (`{move.name}`)",
                f"{move.source} → {move.target}",
                ", ".join(sorted(move.by)) + (", signs" if move.signed else ""),
                move.handoff + (", parts travel" if move.parts_travel else ""),
                ", ".join((["reason"] if move.reason else []) + list(move.checks)) or "–",
                ", ".join(move.accept_checks) or "–",
                ", ".join(move.papers) or "–",
            )
            for move in stages.MOVES
        ],
    )
    return f"{MADE}\n# Stages and moves\n\n{stages.__doc__.strip()}\n\n{held}\n{moves}"


def checks_page():
    """docs/checks.md: every check, what it says and what it guards."""
    parts = [f"{MADE}\n# Checks\n"]
    for name in checks.all_names():
        check = checks.load(name)
        module = __import__(f"casework.checks.{name}", fromlist=["CHECK"])
        guards = ", ".join(sorted(stages.guarded_by(name)))
        parts.append(f"## {check.title} (`{name}`)\n\n{module.__doc__.strip()}\n")
        keeps = f" Limits: {', '.join(check.limits)}." if check.limits else ""
        parts.append(f"Guards: {guards}. Reads: {', '.join(check.reads)}.{keeps}\n")
        parts += [
            f"- `{code}`: {wrong} *{to_do}*" for code, (wrong, to_do) in check.sentences.items()
        ]
        parts.append("")
    return "\n".join(parts)


def limits_page():
    """docs/limits.md: every threshold with its source."""
    rows = [
        (
            f"`{row.name}`",
            row.title,
            "–" if row.value is None else row.value,
            "–" if row.low is None and row.high is None else f"{row.low} to {row.high}",
            row.unit,
            row.source,
            row.sure,
        )
        for row in limits.LIMITS.values()
    ]
    head = ("name", "what", "value", "range", "unit", "source", "how sure")
    about = limits.__doc__.strip()
    return f"{MADE}\n# Limits\n\n{about}\n\n{_table(head, rows)}\n{_connectors()}"


def _connectors():
    rows = [
        (
            " or ".join(row.families),
            " or ".join(map(str, row.classes)) or "any",
            row.region,
            f"{row.pontics} hanging" if row.is_cantilever else row.pontics,
            row.area_mm2,
            f"{row.low_mm2} to {row.high_mm2}",
            row.height_mm,
            row.source,
        )
        for row in connectors.CONNECTORS
    ]
    head = ("material", "class", "region", "pontics, up to", "area, mm²", "range, mm²")
    table = _table((*head, "height, mm", "source"), rows)
    return f"## Connectors\n\n{connectors.__doc__.strip()}\n\n{table}"


PAGES = {
    "stages.md": stages_page,
    "checks.md": checks_page,
    "limits.md": limits_page,
}
