"""No file stands in two places: each scan, picture and radiograph has bytes of its own.

The same jaw sent twice makes an order look complete. Equal means the same SHA-256 (FIPS 180-4).
Common practice, no source.
"""

from itertools import combinations

from casework.checks import Check, file_words, note, stop


def run(facts, limits):
    by_digest = {}
    for file in facts["files"]:
        by_digest.setdefault(file["sha256"], []).append(file)
    for files in by_digest.values():
        for one, other in combinations(files, 2):
            is_same_place = all(one[name] == other[name] for name in ("role", "jaw", "sites"))
            say = note if is_same_place else stop
            code = "sent_twice" if is_same_place else "same_bytes"
            yield say(code, file_words(one["number"]), other=file_words(other["number"]))


CHECK = Check(
    title="No file fills two places",
    reads=("files",),
    run=run,
    sentences={
        "same_bytes": (
            "The {subject} and the {other} are the same file, but are said to show different"
            " things.",
            "Send the right file for one of them; the new file replaces it.",
        ),
        "sent_twice": (
            "The {subject} and the {other} are the same file, sent twice.",
            "One is enough: replace or keep them as you like.",
        ),
    },
)
