"""The scans of both jaws meet as teeth do: in contact, without impossible overlap, evenly.

A recorded bite errs by up to 50 µm, and a design made on deep overlap ends too low (Kakali L,
Halazonetis DJ 2023; J Clin Med 2023;12(3):996, abstracts read). Beyond 50 µm overlap is worth
reading, beyond 100 a new bite scan is asked for; both bounds are chosen here (docs/limits.md).
"""

from casework.checks import (
    OF_VALUES,
    Check,
    against_range,
    at_most,
    is_outside,
    not_known,
    note,
    of,
)

DISTANCE = {"jaw_distance": "distance of the jaws"}
DEPTH = "overlap of the jaws"
SHIFT = "shift against the bite scan"


def run(facts, limits):
    measured = facts["measured"]
    for row in of(measured, "jaw_overlap_depth"):
        yield from _overlap(row, limits("virtual_interpenetration_ok"))
    for row in of(measured, "jaw_distance"):
        error, what = limits("bite_register_error"), DISTANCE["jaw_distance"]
        # Jaws that are nearer than a bite scan errs may well touch.
        apart = at_most(row, error, "no_contact", what=what)
        yield from (one for one in apart if one.code == "no_contact")
    for row in of(measured, "jaw_balance"):
        balance = limits("contact_balance")
        if is_outside(row["value"], balance):
            side = "right" if row["value"] > balance.high else "left"
            marks = against_range(row["value"], balance)
            yield note("one_sided", row["subject"], side=side, **marks)
    for row in of(measured, "bite_scan_shift"):
        yield from at_most(row, limits("bite_register_error"), "off_bite_scan", what=SHIFT)
    yield from not_known(measured, **DISTANCE, bite_scan_shift=SHIFT)


def _overlap(row, limit):
    deep = list(at_most(row, limit, "overlap", bound=limit.hard, what=DEPTH))
    yield from deep or at_most(row, limit, "slight_overlap", say=note, what=DEPTH)


CHECK = Check(
    title="The jaws bite in the scans",
    reads=("measured",),
    limits=("virtual_interpenetration_ok", "contact_balance", "bite_register_error"),
    run=run,
    sentences={
        **OF_VALUES,
        "overlap": (
            "The scans of the jaws ({subject}) reach into each other deeper than a bite scan"
            " can err.",
            "Take a new bite scan, or say why this one stands.",
        ),
        "slight_overlap": (
            "The scans of the jaws ({subject}) reach into each other a little.",
            "Work designed on them may end too low: see to it in the design.",
        ),
        "no_contact": (
            "The scans of the jaws ({subject}) touch nowhere.",
            "See whether they were scanned in the bite, or say what holds the jaws apart.",
        ),
        "off_bite_scan": (
            "The {subject} does not lie as the bite scan shows it.",
            "Align the jaws to the bite scan again, or say which of them is right, and why.",
        ),
        "one_sided": (
            "Almost all contacts of the jaws ({subject}) lie on the {side}.",
            "A bite scan of one side alone tips: see whether the other side meets too.",
        ),
    },
)
