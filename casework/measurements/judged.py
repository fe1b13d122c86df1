"""Which measured value is a finding about?"""

import re
from collections.abc import Mapping, Sequence
from decimal import Decimal

_FIGURE = re.compile(r"(?:at least |at most )?(-?\d+(?:\.(\d+))?) (\S+)")
# Units of results, as findings write them, and what turns one into the other.
_WORDS = {"mm2": "mm²", "deg": "°"}
_FACTORS = {("mm", "µm"): Decimal(1000), ("µm", "mm"): Decimal("0.001")}


def result_of(finding: Mapping, results: Sequence[Mapping]) -> int | None:
    """Return the index of the value that a finding judges, None where it judges none.

    A finding names it by "quantity" and "of", the value's subject; where it does not, its own
    "subject" counts and "measured" as it is written: a result agrees where its value, written
    with as many decimals, reads the same. Its "region" counts where it has one.
    """
    agrees = _figure_of(finding)
    mine = [
        index
        for index, row in enumerate(results)
        if row["value"] is not None and _is_named(row, finding)
    ]
    if not finding.get("quantity") or len(mine) > 1:
        mine = [index for index in mine if agrees(results[index])]
    return mine[0] if mine else None


def _is_named(row, finding):
    """Is a result the one, or one of those, that a finding names?"""
    if row["subject"] != finding.get("of", finding["subject"]):
        return False
    region = finding.get("region")
    if region and row["details"].get("region") != region:
        return False
    return finding.get("quantity", row["quantity"]) == row["quantity"]


def _figure_of(finding):
    """A function that tells whether a result reads as the finding writes it."""
    written = _FIGURE.fullmatch(finding.get("measured") or "")
    if written is None:
        return lambda row: False
    figure, decimals, unit = Decimal(written[1]), len(written[2] or ""), written[3]

    def agrees(row):
        own = _WORDS.get(row["unit"], row["unit"])
        factor = Decimal(1) if own == unit else _FACTORS.get((own, unit))
        if factor is None:
            return False
        return round(Decimal(str(row["value"])) * factor, decimals) == figure

    return agrees
