"""Every implant of the order is known: system, connection, dimensions, lot, day and by whom.

A part is chosen by connection and platform: for an implant that cannot be named no part fits.
An unknown system stops, an unknown lot asks how the implant was identified. Common practice, no
source.
"""

from casework.checks import Check, ask, from_objection, note, stop
from orders.implants.rules import SENTENCES, missing_from


def run(facts, limits):
    by_site = {implant["site"]: implant for implant in facts["implants"]}
    if not facts["order"]["sites"]:
        yield stop("no_sites")
    for site in facts["order"]["sites"]:
        implant = by_site.get(site)
        if implant is None:
            yield stop("not_recorded", site)
        else:
            yield from _judge(implant)


def _judge(implant):
    site = implant["site"]
    yield from map(from_objection, missing_from(implant))
    if not implant["lot"] and not implant["identifier"] and implant["identified_how"]:
        yield note("identified_otherwise", site, how=implant["identified_how"])
    if not implant["placed_by"]:
        yield ask("placed_by_unknown", site)


CHECK = Check(
    title="Implants are recorded",
    reads=("implants", "order"),
    run=run,
    sentences={
        "no_sites": (
            "No implant is recorded, and no unit on an implant is ordered.",
            "Record the implants of this case.",
        ),
        "not_recorded": (
            "No implant is recorded at {subject}, where a unit on an implant is ordered.",
            "Record the implant, or correct the unit.",
        ),
        "identified_otherwise": (
            "The implant at {subject} has neither lot nor identifier. It was identified"
            " so: {how}",
            "A lot alert cannot find this implant.",
        ),
        "placed_by_unknown": (
            "Who placed the implant at {subject} is not recorded.",
            "Name the surgeon, or the author of the report; or say why nobody can be named.",
        ),
    }
    | {
        code: SENTENCES[code]
        for code in ("system_unknown", "part_unknown", "lot_unknown", "placed_on_unknown")
    },
)
