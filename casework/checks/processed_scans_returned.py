"""Every raw scan has its processed scan, and the two were put side by side.

What the comparison found is judged by a check of its own. Where none was made, somebody says
how the two were compared instead. Common practice, no source.
"""

from casework.checks import Check, ask, file_words, note, stop
from casework.checks.scans_readable import ARCHES

CENTRE = "scan centre"
STEP = "processed"


def run(facts, limits):
    files = {file["number"]: file for file in facts["files"]}
    processed = [file for file in files.values() if file["party_side"] == CENTRE]
    if facts["move"]["name"] == "return_scans":
        if not processed:
            yield stop("nothing_returned")
            return
        yield from _left_out(files, processed)
    compared = {
        step["subject"]
        for step in facts["measured"]["steps"]
        if step["step"] == STEP and step["is_measured"]
    }
    for file in processed:
        yield from _judge(file, files, compared)


def _left_out(files, processed):
    answered = {file["made_from"] for file in processed}
    for file in files.values():
        is_raw = file["party_side"] != CENTRE and file["role"] in ARCHES
        if is_raw and file["number"] not in answered:
            yield ask("not_processed", file_words(file["number"]))


def _judge(file, files, compared):
    subject = file_words(file["number"])
    if file["made_from"] is None:
        yield ask("not_compared", subject, because="no raw scan is named")
        return
    raw, named = files.get(file["made_from"]), file_words(file["made_from"])
    if raw is None:
        yield ask("not_compared", subject, because=f"its raw scan ({named}) was replaced")
        return
    if (file["role"], file["jaw"]) != (raw["role"], raw["jaw"]):
        yield stop("shows_another", subject, raw=named)
    if file["sha256"] == raw["sha256"]:
        yield note("unchanged", subject, raw=named)
        return
    if subject not in compared:
        yield ask("not_compared", subject, because="the comparison could not be made")


CHECK = Check(
    title="Processed scans are returned",
    reads=("files", "move", "measured"),
    run=run,
    sentences={
        "nothing_returned": (
            "No processed scan is there to be returned.",
            "Upload it, and say of which raw scan it was made.",
        ),
        "not_processed": (
            "The raw scan ({subject}) has no processed scan.",
            "Upload it, or say why the raw one stays as it is.",
        ),
        "shows_another": (
            "The {subject} is said to show something else than its raw scan ({raw}).",
            "Correct role and jaw, or the raw scan it was made of.",
        ),
        "unchanged": (
            "The {subject} is its raw scan ({raw}), byte for byte.",
            "Nothing was taken out of it.",
        ),
        "not_compared": (
            "The {subject} is not compared with a raw scan, because {because}.",
            "Say who compared the two, how, and that nothing moved near scan bodies, tissue and"
            " contacts.",
        ),
    },
)
