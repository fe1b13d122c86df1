"""Every mesh of the design can be read and its surface is closed.

An open surface has no inside: it can be neither milled nor measured. The definition of a closed
surface is that of `docs/measures.md`.
"""

from casework.checks import Check, against_range, ask, is_outside, note, stop


def run(facts, limits):
    design = facts["design"]
    for part in design["parts"] if design else ():
        if part["file_number"] is not None:
            yield from _judge(part, limits("part_extent"))


def _judge(part, usual):
    subject = f"file {part['file_number']}"
    if not part["file_is_current"]:
        yield stop("superseded", subject)
    if part["file_state"] in ("waiting", "inspecting"):
        yield stop("not_inspected", subject)
    elif part["file_state"] != "readable":
        yield stop("unreadable", subject)
    elif not part["unit_factor"]:
        yield stop("unit_open", subject)
    elif part["integrity"] is None:
        yield stop("not_measured", subject)
    else:
        yield from _surface(subject, part["integrity"])
        size = max(part["integrity"]["extents_mm"])
        if is_outside(size, usual):
            yield ask("size", subject, **against_range(size, usual))


def _surface(subject, found):
    if not found["is_closed"]:
        edges = found["non_manifold_edges"]
        yield stop("open", subject, holes=found["hole_count"], edges=edges)
    elif found["is_inside_out"] or found["turned_triangles"]:
        yield note("turned", subject)
    if found["duplicate_triangles"]:
        yield note("duplicates", subject, count=found["duplicate_triangles"])


CHECK = Check(
    title="Design meshes are readable and closed",
    reads=("design",),
    limits=("part_extent",),
    run=run,
    version=2,
    sentences={
        "size": (
            "The part in {subject} has a size that no such part has.",
            "Settle the unit on the file's page, or say what it is.",
        ),
        "superseded": (
            "The {subject} was replaced by a newer file.",
            "Take the newer file into the version.",
        ),
        "not_inspected": (
            "The {subject} is still being inspected.",
            "Wait a moment and check again.",
        ),
        "unreadable": (
            "The {subject} cannot be used.",
            "Its page says why; upload it again.",
        ),
        "unit_open": (
            "The unit of {subject} is not settled.",
            "Settle it on the file's page; nothing is measured before.",
        ),
        "turned": (
            "Triangles of {subject} are turned inside out.",
            "It is measured as if they were turned right; tell whoever exports it.",
        ),
        "duplicates": (
            "The surface of {subject} holds {count} triangles twice.",
            "They are counted once here; tell whoever exports it.",
        ),
        "not_measured": (
            "The surface of {subject} is not known: its inspection is missing.",
            "Have the file inspected again.",
        ),
        "open": (
            "The surface of {subject} is not closed: {holes} holes, {edges} edges with more"
            " than two faces.",
            "Close it in the design and upload it again.",
        ),
    },
)
