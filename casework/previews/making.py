"""How is the smaller mesh of a file made, once, in the background?"""

from functools import partial

import numpy as np
from django.db import transaction
from django.utils import timezone
from scipy.spatial import cKDTree

from casework.evidence import keeping
from casework.evidence.models import Evidence
from casework.evidence.rules import MESHES
from casework.measure.faults import MeshUnreadable
from casework.measure.reading import read_mesh
from casework.measure.surfaces.reducing import reduced
from casework.previews.directions import facing_of, front_of
from casework.previews.glb import glb_of
from casework.previews.models import Preview
from casework.previews.queries import VERSION, preview_of
from orders.canonical import digest_of_bytes
from orders.jobs.services import finish

MOST_BYTES = 1_200_000
# Of a triangle and half a vertex: three indices, four steps of a place, four bytes of colour.
TRIANGLE_BYTES, COLOUR_BYTES = 10, 2
SPARED = 0.05  # share of the bytes for the head, and for the vertices that borders add


def make_preview(evidence_id, job):
    """Make the preview of a file that is readable in a settled unit; else there is none."""
    evidence = Evidence.objects.select_related("case__order").get(pk=evidence_id)
    made_preview(evidence)
    finish(job)


def made_preview(evidence):
    """The preview of a file, made now where there is none yet; None where there can be none.

    The bytes are stored before the row is written and go again where another was first.
    """
    known = preview_of(evidence)
    if known or not can_be_made(evidence):
        return known
    try:
        data, values = _preview(evidence)
    except MeshUnreadable:
        return None
    key = keeping.keep_bytes(
        data,
        party_id=evidence.party_id,
        code=evidence.case.code,
        sha256=values["sha256"],
        part="previews",
    )
    row, is_new = None, False
    try:
        with transaction.atomic():
            row, is_new = Preview.objects.get_or_create(
                evidence=evidence,
                unit_factor=evidence.unit_factor,
                version=VERSION,
                defaults=values | {"storage_key": key, "made_at": timezone.now()},
            )
    finally:
        if not is_new:
            keeping.forget(key)
    return row


def erase_previews(evidence):
    """Delete what was made of a file to be looked at; the bytes go when it is committed."""
    with transaction.atomic():
        for row in Preview.objects.filter(evidence=evidence):
            transaction.on_commit(partial(keeping.forget, row.storage_key))
            row.delete()


def can_be_made(evidence):
    """Is the file a surface of which everything is known that a preview needs?"""
    return bool(
        evidence.format in MESHES
        and evidence.state == "readable"
        and evidence.unit_factor
        and evidence.storage_key
    )


def _preview(evidence):
    name = f"file {evidence.number}"
    with keeping.local_path(evidence.storage_key) as path:
        mesh = read_mesh(path, name, unit_factor=float(evidence.unit_factor))
    colours = _colours(mesh)
    each = TRIANGLE_BYTES + (COLOUR_BYTES if colours is not None else 0)
    small = reduced(mesh.vertices, mesh.faces, int(MOST_BYTES * (1 - SPARED)) // each)
    if colours is not None and len(small.vertices) != len(mesh.vertices):
        colours = colours[cKDTree(mesh.vertices).query(small.vertices)[1]]
    data = glb_of(small.vertices, small.faces, colours)
    facing = facing_of(small.vertices, small.faces)
    front = front_of(small.vertices, facing)
    return data, {
        "sha256": digest_of_bytes(data),
        "size_bytes": len(data),
        "triangle_count": len(small.faces),
        "of_triangle_count": len(mesh.faces),
        "error_p99_um": small.error_p99_um,
        "error_worst_um": small.error_worst_um,
        "has_colour": colours is not None,
        "facing": facing.tolist(),
        "front": None if front is None else front.tolist(),
    }


def _colours(mesh):
    """The colours of the vertices, from those of the faces where only these are told."""
    if mesh.colours is not None or mesh.face_colours is None:
        return mesh.colours
    colours = np.empty((len(mesh.vertices), 3), np.uint8)
    colours[mesh.faces] = mesh.face_colours[:, None]
    return colours
