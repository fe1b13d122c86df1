"""Every file that is handed over was opened: readable, in millimetres, of plausible size.

A file that nobody could open fills its slot like a good one. Sizes of arches are derived from
casts (Mina M et al. Odontology 2017;105:229-236), the edge length from a preprint of 2026 on
mesh density (202604.0603, one device), where the median stands for its mean; docs/measures.md
says what is counted.
"""

from casework.checks import Check, against, ask, figure, file_words, note, stop
from casework.checks.scans_complete import WITH_BODIES, WITHOUT

MESHES = ("STL", "PLY", "OBJ")
# Files of an arch or a segment; how large a margin or a provisional is says nothing.
ARCHES = (WITH_BODIES, WITHOUT, "opposing_arch", "bite_scan", "second_scan")
# Where a hole may lie in tissue, contact or scan body.
TISSUE = (WITH_BODIES, WITHOUT, "second_scan", "margins")
# These do not travel with the scans; designs are judged by their own check.
APART = ("report", "design_part", "check_scan")
# A surface whose main piece has this share of it is as large as that piece.
MAIN_SHARE = 0.9
FAULTS = (
    "duplicate_triangles",
    "degenerate_triangles",
    "turned_triangles",
    "non_manifold_edges",
)


def run(facts, limits):
    returns = facts["move"]["name"] == "return_scans"
    for file in facts["files"]:
        is_processed = file["party_side"] == "scan centre"
        if file["role"] not in APART and (is_processed or not returns):
            yield from _judge(file, limits)


def _judge(file, limits):
    subject = file_words(file["number"])
    if file["state"] in ("waiting", "inspecting"):
        yield stop("being_inspected", subject)
        return
    if file["state"] != "readable":
        yield stop("unreadable", subject, problem=file["problem"] or "it could not be read.")
        return
    if not file["is_confirmed"] or not file["role"]:
        yield stop("not_confirmed", subject)
    if file["format"] not in MESHES:
        if file["problem"]:
            yield stop("cannot_leave", subject, problem=file["problem"])
    elif not file["unit_factor"]:
        yield stop("unit_open", subject, problem=file["problem"])
    elif file["integrity"] is None:
        yield stop("not_measured", subject)
    else:
        yield from _size(subject, file, limits)
        yield from _edges(subject, file, limits("mesh_edge"))
        yield from _surface(subject, file)


def _size(subject, file, limits):
    if file["role"] not in ARCHES:
        return
    size = max(_extents(file["integrity"]))
    segment, arch = limits("segment_max_extent"), limits("arch_max_extent")
    if size < segment.low:
        yield ask("size", subject, **against(size, segment, segment.low))
    elif size > arch.high:
        yield ask("size", subject, **against(size, arch, arch.high))


def _extents(integrity):
    islands = integrity["islands"]
    if islands and float(islands[0]["area_mm2"]) >= MAIN_SHARE * float(integrity["area_mm2"]):
        return islands[0]["extents_mm"]
    return integrity["extents_mm"]


def _edges(subject, file, most):
    if file["role"] not in ARCHES and file["role"] != "margins":
        return
    lengths = file["integrity"]["edge_length_mm"]
    if lengths is None:
        yield ask("edges_not_known", subject)
    elif lengths["median"] > most.value:
        yield ask("coarse", subject, **against(lengths["median"], most))


def _surface(subject, file):
    found = file["integrity"]
    holes, listed = found["hole_count"], found["holes"]
    if holes > 1:
        # The longest border is the rim of the scan; the next one is the largest hole.
        span = figure(listed[1]["span_mm"], "mm") if len(listed) > 1 else "not known"
        say = ask if file["role"] in TISSUE else note
        yield say("holes", subject, count=holes - 1, span=span)
    if found["island_count"] > 1:
        smallest = found["smallest_island_triangles"]
        yield note("pieces", subject, count=found["island_count"], smallest=smallest)
    if found["is_inside_out"]:
        yield note("inside_out", subject)
    for name in FAULTS:
        if found[name]:
            yield note(name, subject, count=found[name])


CHECK = Check(
    title="Files are readable, in millimetres and of plausible size",
    reads=("files", "move"),
    limits=("segment_max_extent", "arch_max_extent", "mesh_edge"),
    run=run,
    sentences={
        "being_inspected": (
            "The {subject} is still being inspected.",
            "Wait a moment and check again.",
        ),
        "unreadable": (
            "The {subject} cannot be used: {problem}",
            "Send it again; the new file replaces it.",
        ),
        "not_confirmed": (
            "Nobody confirmed what the {subject} is: its role, jaw and sites.",
            "Look at it and confirm it on the page of the files.",
        ),
        "cannot_leave": (
            "The {subject} can be seen here but not handed over: {problem}",
            "Send it again without what must not leave, or take it out.",
        ),
        "unit_open": (
            "The unit of the {subject} is not settled. {problem}",
            "Settle the unit on the file's page; nothing is measured before.",
        ),
        "not_measured": (
            "The surface of the {subject} is not known: its inspection is missing.",
            "Have the file inspected again.",
        ),
        "size": (
            "The largest side of the {subject} is not that of an arch or a segment.",
            "Check its unit and what it shows, or say why it is so.",
        ),
        "edges_not_known": (
            "How dense the surface of the {subject} is, is not known: it has no edge.",
            "Send it again, or say how it was looked at.",
        ),
        "coarse": (
            "The surface of the {subject} is coarse, judged by the median length of its edges.",
            "Export it again without thinning it out, or say why it is dense enough.",
        ),
        "holes": (
            "The {subject} has {count} borders beside its rim; the largest spans {span}.",
            "Scan again where tissue, contact or scan body has a hole, or say that none has.",
        ),
        "pieces": (
            "The {subject} has {count} separate pieces; the smallest has {smallest} triangles.",
            "Nothing was taken out: see whether small pieces belong to the scan.",
        ),
        "inside_out": (
            "The surface of the {subject} is turned inside out.",
            "It is measured as if it were turned right; tell whoever exports it.",
        ),
        "duplicate_triangles": (
            "The {subject} holds {count} triangles twice.",
            "They are counted once here; tell whoever exports it.",
        ),
        "degenerate_triangles": (
            "The {subject} has {count} triangles without area.",
            "They are left out here; tell whoever exports it.",
        ),
        "turned_triangles": (
            "The {subject} has {count} triangles turned against their neighbours.",
            "Look at these places before the surface is used.",
        ),
        "non_manifold_edges": (
            "The {subject} has {count} edges that belong to more than two triangles.",
            "Look at these places before the surface is used.",
        ),
    },
)
