"""A design meets the opposing jaw as wanted: it neither reaches into it nor stays away.

Work on implants is relieved by up to 30 µm (common practice, no source; reasons in Kim Y et al.
2005). A recorded bite errs by 20 to 50 µm (Kakali L, Halazonetis DJ 2023; J Oral Sci 2024,
abstracts read): what is less than that is not judged, and that is said.
"""

from casework.checks import (
    OF_VALUES,
    Check,
    ask,
    figure,
    in_unit,
    measured_figure,
    not_known,
    note,
    of,
    part_at,
)

WHATS = {"clearance": "clearance to the opposing jaw"}


def run(facts, limits):
    measured = facts["measured"]
    error, relief = limits("bite_register_error"), limits("implant_mip_relief")
    rows = of(measured, "clearance")
    by_unit = {row["subject"] for row in rows}
    for row in rows:
        part = part_at(measured, row["subject"], "bridge", "crown")
        is_whole = part and part["name"] == row["subject"]
        # Where each unit is known, the part as a whole says nothing more.
        if not (is_whole and by_unit & set(part["sites"])):
            yield from _judge(row, error, relief)
    yield from not_known(measured, **WHATS)


def _judge(row, error, relief):
    room = in_unit(row["value"], row["unit"], relief.unit)
    doubt = in_unit(row["uncertainty"] or 0, row["unit"], relief.unit) + error.value
    marks = {
        "measured": measured_figure(room, relief.unit),
        "source": f"{relief.source}; {error.source}",
    }
    words = measured_figure(doubt, relief.unit)
    low, high = (figure(bound, relief.unit) for bound in (relief.low, relief.high))
    marks["limit"] = f"{low} to {high}"
    if room < relief.low - doubt:
        yield ask("reaches_in", row["subject"], doubt=words, **marks)
    elif room > relief.high + doubt:
        yield note("stays_away", row["subject"], doubt=words, **marks)
    elif not relief.low <= room <= relief.high:
        yield note("not_judged", row["subject"], doubt=words, **marks)


CHECK = Check(
    title="The design meets the opposing jaw as wanted",
    reads=("measured",),
    limits=("bite_register_error", "implant_mip_relief"),
    run=run,
    sentences={
        **OF_VALUES,
        "reaches_in": (
            "The design ({subject}) reaches into the opposing jaw by more than the bite can err"
            " ({doubt}).",
            "Take it out of the bite, or say why it stands.",
        ),
        "stays_away": (
            "The design ({subject}) stays away from the opposing jaw by more than the bite can"
            " err ({doubt}).",
            "See whether it is meant to be out of contact.",
        ),
        "not_judged": (
            "Whether the design ({subject}) touches is not judged: its distance to the opposing"
            " jaw is less than the bite can err ({doubt}).",
            "Look at it with foil at the try-in.",
        ),
    },
)
