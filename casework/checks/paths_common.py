"""All posts under one piece let it in along one path, and hold it as cement needs.

Taper 6 to 20°, 8 usual (from memory; 8 to 12 tested in Choi KH et al. 2018); post at least 4 mm
high and its axis at most 30° from the implant's (public summaries, read). How deep an undercut
may be is chosen here (docs/limits.md).
"""

from casework.checks import (
    OF_VALUES,
    Check,
    against_range,
    ask,
    at_least,
    at_most,
    in_unit,
    is_outside,
    not_known,
    of,
)

WHATS = {
    "path_draft": "common path of insertion",
    "path_undercut": "undercut",
    "path_angle": "angle of the implant to the path of insertion",
    "post_taper": "taper of the post",
    "post_height": "height of the post",
}


def run(facts, limits):
    measured = facts["measured"]
    for row in of(measured, "path_undercut"):
        limit = limits("path_undercut")
        yield from at_most(row, limit, "undercut", what=WHATS["path_undercut"])
    for row in of(measured, "path_angle"):
        limit = limits("abutment_correction_max")
        yield from at_most(row, limit, "steep", what=WHATS["path_angle"])
    for row in of(measured, "post_height"):
        limit = limits("abutment_height_min")
        yield from at_least(row, limit, "short", what=WHATS["post_height"])
    for row in of(measured, "post_taper"):
        usual = limits("toc")
        if is_outside(in_unit(row["value"], row["unit"], usual.unit), usual):
            yield ask("taper", row["subject"], **against_range(row["value"], usual))
    yield from not_known(measured, **WHATS)


CHECK = Check(
    title="Posts share a path of insertion",
    reads=("measured",),
    limits=("path_undercut", "abutment_correction_max", "abutment_height_min", "toc"),
    run=run,
    sentences={
        **OF_VALUES,
        "undercut": (
            "The post at {subject} is undercut against the common path of insertion.",
            "Turn the posts toward one path, or say how the piece will go in.",
        ),
        "steep": (
            "The implant at {subject} stands steeper to the path of insertion than its"
            " abutment may correct.",
            "Choose an intermediate abutment or another path, or say why this holds.",
        ),
        "short": (
            "The post at {subject} is lower than cement needs to hold.",
            "Raise it, retain it with a screw, or say why it is enough.",
        ),
        "taper": (
            "The taper of the post at {subject} is not a usual one.",
            "Correct it, or say why: much taper holds little, none lets nothing in.",
        ),
    },
)
