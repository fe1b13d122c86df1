"""A processed scan is its raw scan less scatter, and says of which raw scan it was made.

Whether a surface moved near scan bodies, tissue or contacts is not measured by this
installation: somebody says how the two were compared instead. Common practice, no source.
"""

from casework.checks import Check, ask, file_words, note, stop
from casework.checks.scans_readable import ARCHES

CENTRE = "scan centre"


def run(facts, limits):
    files = {file["number"]: file for file in facts["files"]}
    processed = [file for file in files.values() if file["party_side"] == CENTRE]
    if facts["move"]["name"] == "return_scans":
        if not processed:
            yield stop("nothing_returned")
            return
        yield from _left_out(files, processed)
    for file in processed:
        yield from _judge(file, files)


def _left_out(files, processed):
    answered = {file["made_from"] for file in processed}
    for file in files.values():
        is_raw = file["party_side"] != CENTRE and file["role"] in ARCHES
        if is_raw and file["number"] not in answered:
            yield ask("not_processed", file_words(file["number"]))


def _judge(file, files):
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
    yield ask(
        "not_compared", subject, because="this installation does not measure between surfaces"
    )


CHECK = Check(
    title="Processed scans are their raw scans",
    reads=("files", "move"),
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
