"""The follow-up visits up to the first year took place, and each answered what it is for.

48 hours: common practice, no source. One week, six months and then yearly: Vanlioglu B et al.
Int J Oral Maxillofac Implants 2013;28:1300-1304 (abstract read). The bite is looked at again at
the first two; bone level, probing, bleeding, mobility, screw and chipping from six months on.
"""

from casework.checks import Check, ask, stop

FIRST_YEAR = "12 months"
# Days after which a visit is about bone and tissue, not about the bite alone.
LATE_UNITS = ("month", "year")
READINGS = {
    "bone_level_mm": "bone level",
    "probing_mm": "probing depth",
    "bleeding": "bleeding",
    "mobility": "mobility",
}
ANSWERS = {"screws_tight": "screws", "chipping": "chipping"}


def run(facts, limits):
    visits = facts["follow_ups"]
    if not visits:
        yield stop("no_plan")
        return
    if not any(visit["name"] == FIRST_YEAR for visit in visits):
        yield stop("no_first_year")
    for visit in visits:
        if visit["done_on"] is not None:
            yield from _answers(visit, facts)
        elif visit["name"] == FIRST_YEAR:
            yield stop("first_year_open", visit["name"], day=visit["due_on"])
        elif visit["due_on"] <= facts["today"]:
            yield ask("missed", visit["name"], day=visit["due_on"])


def _answers(visit, facts):
    if not any(unit in visit["name"] for unit in LATE_UNITS):
        if not visit["bite"]:
            yield ask("no_bite", visit["name"], day=visit["done_on"])
        return
    missing = [words for name, words in ANSWERS.items() if not visit[name]]
    for site in facts["order"]["sites"]:
        read = {
            row["quantity"]
            for row in facts["readings"]
            if row["site"] == site and row["measured_on"] == visit["done_on"]
        }
        lacking = [words for name, words in READINGS.items() if name not in read]
        if lacking:
            missing.append(f"{', '.join(lacking)} at ISO {site}")
    if missing:
        words = "; ".join(missing)
        yield ask("not_answered", visit["name"], day=visit["done_on"], missing=words)


CHECK = Check(
    title="Follow-up visits took place",
    reads=("follow_ups", "readings", "order", "today"),
    run=run,
    sentences={
        "no_plan": (
            "No follow-up visit was planned.",
            "Delivery plans them; record the delivery first.",
        ),
        "no_first_year": (
            "No visit at 12 months is planned.",
            "Add it to the template of the practice; a case is closed after it.",
        ),
        "first_year_open": (
            "The visit after {subject}, due on {day}, did not take place.",
            "The case is closed after the first-year visit.",
        ),
        "missed": (
            "The visit after {subject}, due on {day}, did not take place.",
            "Record it, or say why it was left out.",
        ),
        "no_bite": (
            "The visit after {subject} on {day} does not say how the bite was.",
            "Record it, or say why it was not looked at.",
        ),
        "not_answered": (
            "The visit after {subject} on {day} does not say: {missing}.",
            "Record it, or say why it was not looked at.",
        ),
    },
)
