"""What the prescription says goes together, in itself and with implants, teeth and shade.

What speaks against it stands in one place, `orders/prescriptions/rules.py`, for form and
check. Strength classes: ISO 6872:2015 Table 1, from memory; margins: Gehrke P et al. BMC
Oral Health 2019, s12903-019-0809-2 (abstract read). Days are judged by a check of their own.
"""

from casework.checks import Check, from_objection
from orders.prescriptions.rules import incoherent
from orders.prescriptions.sentences import INCOHERENT


def run(facts, limits):
    if facts["prescription"] is None:
        return
    margin = limits("margin_depth_max")
    found = incoherent(
        facts["prescription"],
        implants=facts["implants"],
        dentition=facts["dentition"],
        shade=facts["shade"],
        margin_recommended_mm=margin.value,
        margin_deepest_mm=margin.high,
    )
    yield from map(from_objection, found)


CHECK = Check(
    title="The prescription goes together",
    reads=("prescription", "implants", "dentition", "shade"),
    limits=("margin_depth_max",),
    run=run,
    sentences=INCOHERENT,
)
