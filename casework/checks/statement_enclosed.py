"""The maker's statement for a custom-made device travels with the work.

Regulation (EU) 2017/745, Annex XIII section 1 and Article 21(2): the statement accompanies the
device (list from memory; local law decides whether and in which form it is needed).
"""

from casework.checks import Check, ask


def run(facts, limits):
    parcel = facts["parcel"]
    # That no parcel is packed is said by the check that describes it.
    if parcel is not None and not parcel["has_statement"]:
        yield ask("missing")


CHECK = Check(
    title="The statement for a custom-made device is enclosed",
    reads=("parcel",),
    run=run,
    sentences={
        "missing": (
            "No statement for a custom-made device is enclosed.",
            "Enclose it, or say why local law asks for none.",
        ),
    },
)
