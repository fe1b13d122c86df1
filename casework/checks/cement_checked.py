"""Cemented work names its cement and how excess was looked for.

Excess cement under the mucosa goes with inflammation; remnants grow with the depth of the
margin (Gehrke P et al. BMC Oral Health 2019, s12903-019-0809-2, abstract read).
"""

from casework.checks import Check, stop


def run(facts, limits):
    prescription, delivery = facts["prescription"], facts["delivery"]
    if prescription is None:
        yield stop("no_prescription")
        return
    # That no delivery is recorded is said by the check of the delivery.
    if prescription["retention"] != "cement" or delivery is None:
        return
    if not delivery["cement"]:
        yield stop("no_cement")
    if not delivery["excess_checked"] or not delivery["excess_checked_how"]:
        yield stop("excess_not_checked")


CHECK = Check(
    title="Cement is named and excess looked for",
    reads=("prescription", "delivery"),
    run=run,
    sentences={
        "no_prescription": (
            "There is no prescription that says how the work is retained.",
            "Find it before the work is left in the mouth.",
        ),
        "no_cement": ("The cement is not recorded.", "Name the product."),
        "excess_not_checked": (
            "Whether excess cement was looked for, and how, is not recorded.",
            "Check the margin all round, remove what is left, and record how it was checked.",
        ),
    },
)
