"""Restoration and abutment fit: room for cement, nothing in the way, a closed margin, contacts.

Space for cement 20 to 80 µm, 60 best of three tested (abstract read); margin at most 120 µm
(McLean JW, von Fraunhofer JA 1971, from memory), below the gum 1.0 mm, 1.5 at most (Gehrke P
et al. 2019, abstract read; the 1.5 is common practice, no source); how far parts may reach into
each other and into a neighbouring tooth is chosen here (docs/limits.md).
"""

from casework.checks import (
    OF_VALUES,
    Check,
    against_range,
    at_least,
    at_most,
    in_unit,
    is_outside,
    measured_figure,
    not_known,
    note,
    of,
)

WHATS = {
    "cement_gap": "gap between restoration and abutment",
    "least_gap": "least gap between restoration and abutment",
    "marginal_gap": "gap along the margin",
    "margin_depth": "depth of the margin below the gum",
}
CONTACT = {"contact": "gap to the neighbouring tooth"}


def run(facts, limits):
    measured = facts["measured"]
    for row in of(measured, "least_gap"):
        limit = limits("fit_interference")
        what = WHATS["least_gap"]
        yield from at_least(row, limit, "interferes", bound=-limit.value, what=what)
    for row in of(measured, "marginal_gap"):
        what = WHATS["marginal_gap"]
        yield from at_most(row, limits("margin_gap_max"), "open_margin", what=what)
    for row in of(measured, "cement_gap"):
        yield from _cement(row, limits("cement_gap"))
    for row in of(measured, "contact"):
        yield from _contact(row, limits)
    for row in of(measured, "margin_depth"):
        limit, what = limits("margin_depth_max"), WHATS["margin_depth"]
        deep = list(at_most(row, limit, "too_deep", bound=limit.high, what=what))
        yield from deep or at_most(row, limit, "deep", say=note, what=what)
    yield from not_known(measured, **WHATS)
    # At the end of an arch there is no neighbour to touch.
    yield from not_known(measured, note, **CONTACT)


def _cement(row, usual):
    gap = in_unit(row["value"], row["unit"], usual.unit)
    if is_outside(gap, usual):
        yield note("unusual_gap", row["subject"], **against_range(gap, usual))


def _contact(row, limits):
    side = row["details"]["side"]
    gap, overlap = limits("contact_gap"), limits("contact_overlap")
    if in_unit(row["value"], row["unit"], gap.unit) > gap.hard:
        shown = measured_figure(row["value"], row["unit"])
        yield note("no_neighbour", row["subject"], measured=shown, side=side)
        return
    yield from at_most(row, gap, "no_contact", what=f"{side} contact", side=side)
    yield from at_least(
        row, overlap, "tight_contact", bound=-overlap.value, what=f"{side} contact", side=side
    )


CHECK = Check(
    title="Parts fit each other and their neighbours",
    reads=("measured",),
    limits=(
        "fit_interference",
        "margin_gap_max",
        "margin_depth_max",
        "cement_gap",
        "contact_gap",
        "contact_overlap",
    ),
    run=run,
    sentences={
        **OF_VALUES,
        "interferes": (
            "The restoration reaches into its abutment at {subject}.",
            "Give it room in the design, or say why it will seat.",
        ),
        "open_margin": (
            "The margin at {subject} is open wider than usual.",
            "Close it in the design, or say why it is enough.",
        ),
        "deep": (
            "The margin at {subject} lies deep below the gum.",
            "Excess cement is hard to find there: see whether it can come up.",
        ),
        "too_deep": (
            "The margin at {subject} lies too deep below the gum for cement to be cleaned off.",
            "Raise it, retain the work with a screw, or say how excess will be found.",
        ),
        "unusual_gap": (
            "The gap between restoration and abutment at {subject} is not the usual space for"
            " cement.",
            "See whether it is meant so.",
        ),
        "no_contact": (
            "The restoration does not reach its {side} neighbour at {subject}.",
            "Bring it into contact, or say that the gap is wanted.",
        ),
        "no_neighbour": (
            "No tooth stands near the restoration on its {side} side at {subject}.",
            "See that nothing was to be touched there.",
        ),
        "tight_contact": (
            "The restoration reaches into its {side} neighbour at {subject}.",
            "Relieve it, or say why: the tooth beside it keeps it from seating.",
        ),
    },
)
