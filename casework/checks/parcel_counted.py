"""The parcel was opened and counted: every part is there and sound.

Accepting a dispatch is receiving and counting it; a lost or damaged part is said as that.
Common practice, no source.
"""

from casework.checks import Check, part_words, stop


def run(facts, limits):
    parcel = facts["parcel"]
    if parcel is None and facts["move"]["name"] == "return_to_redesign":
        # Work may be designed anew without any part travelling back.
        return
    if parcel is None or not parcel["arrived"]:
        yield stop("not_arrived")
        return
    if not parcel["lines"]:
        yield stop("empty")
    for line in parcel["lines"]:
        subject = part_words(line)
        if line["is_there"] is None or (line["is_there"] and line["is_sound"] is None):
            yield stop("not_counted", subject)
        elif not line["is_there"]:
            yield stop("missing", subject)
        elif not line["is_sound"]:
            yield stop("damaged", subject)


CHECK = Check(
    title="The parcel is here and counted",
    reads=("parcel", "move"),
    run=run,
    sentences={
        "not_arrived": (
            "The parcel is not recorded as arrived.",
            "Count it when it is here; then accept.",
        ),
        "empty": (
            "The parcel lists no part.",
            "Return it: nobody said what should be in it.",
        ),
        "not_counted": (
            "The {subject} was not counted.",
            "Say of every part whether it is there and sound.",
        ),
        "missing": (
            "The {subject} was not in the parcel.",
            "Return the dispatch as lost in transit; the laboratory makes or sends it again.",
        ),
        "damaged": (
            "The {subject} arrived damaged.",
            "Return the dispatch as damaged in transit.",
        ),
    },
)
