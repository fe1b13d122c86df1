"""Implants that one piece joins are parallel enough for the parts it stands on.

A one-piece splint on engaging parts came off to 16° between two implants and not at 20° (BMC
Oral Health 2023, s12903-023-02958-4, one connection, in vitro). Measured on the scan, before
parts are chosen.
"""

from casework.checks import OF_VALUES, Check, at_most, of
from casework.checks.scan_true_over_span import pieces

MOST = "divergence_splint_engaging"


def run(facts, limits):
    measured = facts["measured"]
    joined = [set(implants) for implants in pieces(measured)]
    for row in of(measured, "implant_divergence"):
        if any(set(row["subject"].split("-")) <= implants for implants in joined):
            yield from at_most(row, limits(MOST), "diverge", what="angle between the implants")


CHECK = Check(
    title="Joined implants are parallel enough",
    reads=("measured",),
    limits=(MOST,),
    run=run,
    sentences={
        **OF_VALUES,
        "diverge": (
            "The implants {subject} diverge by more than one piece on engaging parts allows.",
            "Choose parts that do not engage or intermediate abutments, or say why it will"
            " seat.",
        ),
    },
)
