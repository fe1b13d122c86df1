"""What is recorded of each implant can be: dimensions, days, one at a site, no tooth there.

A slipped decimal point orders a part for another implant. The usual dimensions are common
practice, no source; a catalogue row wins over them.
"""

from datetime import date

from casework.checks import Check, ask, from_objection, stop
from orders.implants.rules import SENTENCES, Usual, implausible, sites_named_twice

# Dimension of an implant: the limit that says what is usual.
USUAL = {
    "body_diameter_mm": "implant_body_diameter",
    "platform_diameter_mm": "implant_platform_diameter",
    "length_mm": "implant_length",
}


def run(facts, limits):
    ordered = facts["order"]["sites"]
    here = [implant for implant in facts["implants"] if implant["site"] in ordered]
    yield from map(from_objection, sites_named_twice(here))
    dentition = facts["dentition"]
    if dentition is None and here:
        yield ask("teeth_unknown")
    usual = {field: _usual(limits(name)) for field, name in USUAL.items()}
    for implant in here:
        # Whether a day lies ahead is a fact of its own: it does not change from day to day.
        found = implausible(
            implant,
            today=date.max,
            present=dentition["present"] if dentition else (),
            usual=usual,
        )
        yield from map(from_objection, found)
        if implant["day_problem"]:
            yield stop(
                implant["day_problem"], implant["site"], day=implant["placed_on"].isoformat()
            )
        yield from _against_catalogue(implant)


def _usual(limit):
    return Usual(limit.low, limit.high, limit.unit, limit.source)


def _against_catalogue(implant):
    site, listed = implant["site"], implant["catalogue"]
    if listed is None:
        return
    for name in ("connection", "platform"):
        if implant[name] and listed[name] and implant[name] != listed[name]:
            yield stop(
                "not_as_listed", site, name=name, recorded=implant[name], listed=listed[name]
            )
    for name in USUAL:
        recorded, told = implant[name], listed[name]
        if recorded is not None and told is not None and recorded != told:
            yield ask(
                "other_dimension",
                site,
                name=name.removesuffix("_mm").replace("_", " "),
                measured=f"{recorded} mm",
                limit=f"{told} mm",
                source="the catalogue's row of this implant",
            )


CHECK = Check(
    title="Implant records are plausible",
    reads=("implants", "dentition", "order"),
    limits=tuple(USUAL.values()),
    run=run,
    sentences={
        "teeth_unknown": (
            "Which teeth exist is not recorded, so no site could be compared with them.",
            "Record the teeth, or say how it is known that no tooth stands at a site.",
        ),
        "placed_in_future": (
            "The implant at {subject} is recorded as placed on {day}, which is still to come.",
            "Correct the day.",
        ),
        "placed_before_birth": (
            "The implant at {subject} was placed on {day}, says its record: before the birth.",
            "Correct the day, or the day of birth.",
        ),
        "not_as_listed": (
            "The {name} of the implant at {subject} is recorded as {recorded}; the catalogue"
            " lists {listed} for this implant.",
            "Correct the record, or choose the right implant of the catalogue.",
        ),
        "other_dimension": (
            "The {name} of the implant at {subject} is not the one the catalogue lists.",
            "Correct the record, or say why it differs.",
        ),
    }
    | {
        code: SENTENCES[code]
        for code in ("implausible", "platform_wider", "tooth_standing", "site_twice")
    },
)
