"""Every file is, byte for byte, the one in the manifest, and every record says the same.

The stored bytes are read again for the receiver and their SHA-256 (FIPS 180-4) is compared with
the manifest's. Common practice, no source.
"""

from casework.checks import Check, stop

MISSING = "missing"


def run(facts, limits):
    manifest = facts["manifest"]
    if manifest is None:
        yield stop("no_manifest")
        return
    if not manifest["files"] and not manifest["records"]:
        yield stop("empty")
    if not manifest["is_verified"]:
        yield stop("not_read_yet")
        return
    for file in manifest["files"]:
        if file["stored_sha256"] in (None, MISSING):
            yield stop("file_missing", file["name"])
        elif file["stored_sha256"] != file["sha256"]:
            yield stop("file_changed", file["name"])
    for record in manifest["records"]:
        if record["sha256_now"] is None:
            yield stop("record_gone", record["kind"])
        elif record["sha256_now"] != record["sha256"]:
            yield stop("record_changed", record["kind"])


CHECK = Check(
    title="The manifest is verified",
    reads=("manifest",),
    run=run,
    sentences={
        "no_manifest": (
            "There is no open offer with a manifest.",
            "The sender offers the case again.",
        ),
        "empty": (
            "The manifest lists neither a file nor a record.",
            "Return the offer: nothing was handed over.",
        ),
        "not_read_yet": (
            "The files of the manifest were not read again yet.",
            "Check again: every file is then read and compared.",
        ),
        "file_missing": (
            "{subject} stands in the manifest, but its bytes are not there.",
            "Return the offer and name this file; tell whoever runs this service.",
        ),
        "file_changed": (
            "{subject} is not the file that stands in the manifest: its SHA-256 differs.",
            "Return the offer and name this file; tell whoever runs this service.",
        ),
        "record_gone": (
            "A record of the manifest is gone or was replaced: {subject}.",
            "Ask the sender to amend the offer, or return it.",
        ),
        "record_changed": (
            "A record was changed since the offer: {subject}.",
            "Ask the sender to amend the offer, so that the manifest says what stands now.",
        ),
    },
)
