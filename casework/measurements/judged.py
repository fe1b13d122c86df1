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

    Of a finding count "subject", "measured" as it is written and, where it has one, "region"; a
    result agrees where its value, written with as many decimals, reads the same.
    """
    written = _FIGURE.fullmatch(finding.get("measured") or "")
    if written is None:
        return None
    figure, decimals, unit = Decimal(written[1]), len(written[2] or ""), written[3]
    for index, row in enumerate(results):
        if row["value"] is None or row["subject"] != finding["subject"]:
            continue
        region = finding.get("region")
        if region and row["details"].get("region") != region:
            continue
        own = _WORDS.get(row["unit"], row["unit"])
        factor = Decimal(1) if own == unit else _FACTORS.get((own, unit))
        if (
            factor is not None
            and round(Decimal(str(row["value"])) * factor, decimals) == figure
        ):
            return index
    return None
