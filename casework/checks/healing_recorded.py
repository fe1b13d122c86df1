"""How well each implant has healed was measured, or is given time to heal.

Stability is read by a quotient from 1 to 100 (bands of the scale's maker, quoted on a web page)
or by a torque test held without rotation (J Oral Implantol 2015;41(4):e133). None of these is
ever required of an implant that is still healing: loading counts as conventional from two
months on (Weber HP et al. 2009, endorsed at a consensus conference, Bern 2013). The figures do
not decide; the clinician does.
"""

from casework.checks import Check, against, ask, figure, note, stop

QUOTIENT, TEST, INSERTION = "stability_quotient", "torque_test_ncm", "insertion_torque_ncm"


def run(facts, limits):
    by_site = {implant["site"]: implant for implant in facts["implants"]}
    for site in facts["order"]["sites"]:
        here = [row for row in facts["readings"] if row["site"] == site]
        if implant := by_site.get(site):
            yield from _judge(implant, here, facts["today"], limits)


def _judge(implant, here, today, limits):
    site, placed_on = implant["site"], implant["placed_on"]
    for row in here:
        if placed_on and row["measured_on"] < placed_on:
            yield stop("before_implant", site, day=row["measured_on"], placed_on=placed_on)
    is_healing = False
    if placed_on is None:
        yield ask("healing_not_known", site)
    else:
        days, wait = (today - placed_on).days, limits("loading_conventional")
        is_healing = days < wait.value
        if is_healing:
            yield ask("healing", site, **against(days, wait))
    quotients = [row for row in here if row["quantity"] == QUOTIENT]
    tests = [row for row in here if row["quantity"] == TEST]
    if not quotients and not tests and not is_healing:
        yield ask("no_reading", site)
    yield from _quotients(site, quotients, is_healing, limits)
    yield from _tests(site, tests, limits("integration_torque_test"))
    yield from _insertion(site, here, is_healing, limits("insertion_torque_load"))
    moving = [row for row in here if row["quantity"] == "mobility"]
    if moving and _by_day(moving)[-1]["held"]:
        yield ask("mobile", site, day=_by_day(moving)[-1]["measured_on"])


def _by_day(rows):
    return sorted(rows, key=lambda row: row["measured_on"])


def _quotients(site, rows, is_healing, limits):
    wanted = limits("isq_load_min" if is_healing else "isq_low")
    for direction in sorted({row["direction"] for row in rows}):
        series = _by_day([row for row in rows if row["direction"] == direction])
        last = series[-1]
        if last["value"] < wanted.value:
            yield ask(
                "quotient_low",
                site,
                direction=direction,
                day=last["measured_on"],
                **against(last["value"], wanted),
            )
        if len(series) > 1 and last["value"] < series[-2]["value"]:
            yield note(
                "falling",
                site,
                direction=direction,
                before=figure(series[-2]["value"], "ISQ"),
                after=figure(last["value"], "ISQ"),
            )


def _tests(site, rows, usual):
    if not rows:
        return
    last = _by_day(rows)[-1]
    if not last["held"]:
        yield ask("turned", site, day=last["measured_on"], torque=figure(last["value"], "N·cm"))
    elif last["value"] < usual.value:
        yield note("light_test", site, **against(last["value"], usual))


def _insertion(site, here, is_healing, wanted):
    rows = [row for row in here if row["quantity"] == INSERTION]
    if rows and is_healing and _by_day(rows)[-1]["value"] < wanted.value:
        yield ask("insertion_low", site, **against(_by_day(rows)[-1]["value"], wanted))


CHECK = Check(
    title="Healing is recorded",
    reads=("implants", "order", "readings", "today"),
    limits=(
        "loading_conventional",
        "isq_low",
        "isq_load_min",
        "integration_torque_test",
        "insertion_torque_load",
    ),
    run=run,
    sentences={
        "before_implant": (
            "A reading at {subject} is dated {day}, before the implant was placed on"
            " {placed_on}.",
            "Correct one of the two days.",
        ),
        "healing_not_known": (
            "How long the implant at {subject} has healed is not known.",
            "Record the day it was placed.",
        ),
        "healing": (
            "The implant at {subject} is still healing; no reading is required of it.",
            "Wait, or say why the work goes on now.",
        ),
        "no_reading": (
            "Neither a stability quotient nor a torque test is recorded at {subject}.",
            "Record one, or say how healing was judged.",
        ),
        "quotient_low": (
            "The last stability quotient at {subject} ({direction}, {day}) is low.",
            "Read it again later, or say why the work goes on.",
        ),
        "falling": (
            "The stability quotient at {subject} ({direction}) fell from {before} to {after}.",
            "A falling trend deserves a look before the implant is loaded.",
        ),
        "turned": (
            "The implant at {subject} turned in the torque test of {day} ({torque}).",
            "An implant that turns is not loaded: let it heal and test again, or say what the"
            " clinician decided.",
        ),
        "light_test": (
            "The torque test at {subject} was made with less torque than usual.",
            "It held; a test with less torque shows less.",
        ),
        "insertion_low": (
            "The implant at {subject} is still healing and went in with little torque.",
            "Wait, or say why it is loaded early.",
        ),
        "mobile": (
            "The implant at {subject} was recorded as mobile on {day}.",
            "A mobile implant is not loaded: say what was found and decided since.",
        ),
    },
)
