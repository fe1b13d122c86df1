"""What is said against a record or an order, how much does it weigh, and where does it stand?

Rules answer with these. A form shows them live, a service refuses what stops, and the checks
at a handoff turn them into findings: the code picks the sentence, the values fill it.
"""

import dataclasses
from dataclasses import dataclass

from orders.teeth import describe

STOP, ASK, NOTE = "stop", "ask", "note"


@dataclass(frozen=True, slots=True)
class Objection:
    """One thing that is missing or does not go together."""

    code: str
    weight: str  # "stop", "ask" or "note"
    wrong: str  # what is wrong, with placeholders of `values`
    do: str  # what to do about it
    subject: str = ""  # a site, a tooth, a span
    field: str = ""  # the field of the record it hangs on
    values: dict = dataclasses.field(default_factory=dict)
    measured: str = ""
    limit: str = ""
    source: str = ""

    @property
    def sentence(self):
        return f"{self.wrong} {self.do}".strip().format(**self.values)

    @property
    def is_stop(self):
        return self.weight == STOP


def objection(sentences, code, weight, *, subject="", field="", **values):
    """The objection `code`, with its two sentences from a table of the topic.

    What was measured, its limit and the limit's source are values like the others.
    """
    marks = {name: values.get(name, "") for name in ("measured", "limit", "source")}
    wrong, do = sentences[code]
    return Objection(
        code, weight, wrong, do, subject, field, {"subject": subject, **values}, **marks
    )


def in_words(code):
    """A tooth as sentences name it, whatever notation the reader uses."""
    return f"{describe(code)} (ISO {code})"
