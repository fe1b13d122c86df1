"""The soft tissue over each implant, and the height of its healing abutment, are recorded.

The scan of the mucosa shows what stands on the day of the scan; inflamed tissue changes until
the work is seated. Common practice, no source.
"""

from casework.checks import Check, against_range, ask, is_outside, stop


def run(facts, limits):
    usual = limits("healing_abutment_height")
    for implant in facts["implants"]:
        site = implant["site"]
        if site not in facts["order"]["sites"]:
            continue
        if not implant["soft_tissue"]:
            yield stop("tissue_missing", site)
        elif implant["soft_tissue"] != "healthy":
            yield ask("not_healthy", site, tissue=implant["soft_tissue"])
        height = implant["healing_abutment_height_mm"]
        if height is None:
            yield ask("no_height", site)
        elif is_outside(height, usual):
            yield ask("odd_height", site, **against_range(height, usual))


CHECK = Check(
    title="Soft tissue is recorded",
    reads=("implants", "order"),
    limits=("healing_abutment_height",),
    run=run,
    sentences={
        "tissue_missing": (
            "The state of the soft tissue at {subject} is not recorded.",
            "Look at it and record it.",
        ),
        "not_healthy": (
            "The soft tissue at {subject} is recorded as: {tissue}.",
            "Treat it or look again first, or say why the scan is made now.",
        ),
        "no_height": (
            "The height of the healing abutment at {subject} is not recorded.",
            "Record it, or say what covers the implant.",
        ),
        "odd_height": (
            "The height of the healing abutment at {subject} is unusual.",
            "Check the entry and its decimal point, or say why it is so.",
        ),
    },
)
