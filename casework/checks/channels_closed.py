"""Every screw channel is closed, and it is recorded with what.

Under cemented work the abutment's channel is closed as well. A lost filling of the access hole
was among the commonest complications of implant bridges (5.4 % in five years: Clin Oral
Implants Res 2012;23 Suppl 6:22-38, figure from memory).
"""

from casework.checks import Check, stop


def run(facts, limits):
    closed = {row["site"]: row["channel_closed_with"] for row in facts["screws"]}
    for site in facts["order"]["sites"]:
        # A site without a screw on record is stopped by the check of the screws.
        if site in closed and not closed[site]:
            yield stop("open", site)


CHECK = Check(
    title="Screw channels are closed",
    reads=("screws", "order"),
    run=run,
    sentences={
        "open": (
            "The channel at {subject} is not recorded as closed.",
            "Close it over a protected screw head, and record with what.",
        ),
    },
)
