"""What does a page say about a file: its state in words, what was found in it, its history?"""

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from casework.evidence.queries import derived_of, download_for, is_own
from casework.evidence.rules import (
    JAWS,
    MESHES,
    label_of,
    objections_to_role,
    size_in_words,
)
from orders.jobs.queries import pending

STATES = {
    "waiting": gettext_lazy("waits for its inspection"),
    "inspecting": gettext_lazy("is being inspected"),
    "readable": gettext_lazy("readable"),
    "refused": gettext_lazy("refused: cannot be read"),
    "failed": gettext_lazy("could not be inspected"),
}


@dataclass(frozen=True, slots=True)
class Row:
    """One file as a page shows it."""

    file: object
    role: str
    jaw: str
    state: str
    name: str
    size: str
    is_own: bool
    has_download: bool
    can_be_confirmed: bool
    has_failed: bool
    copy: object
    progress: str
    integrity: dict | None
    facts: tuple
    notes: tuple


def rows_of(files, desk):
    files = list(files)
    jobs = pending("evidence.inspect", [file.pk for file in files])
    return [_row(file, desk, jobs.get(file.pk)) for file in files]


def row_of(file, desk):
    return _row(file, desk, pending("evidence.inspect", [file.pk]).get(file.pk))


def _row(file, desk, job):
    from casework.measurements.queries import integrity_of

    download = download_for(desk, file)
    integrity = integrity_of(file) if file.format in MESHES else None
    return Row(
        file=file,
        role=label_of(file.role),
        jaw=JAWS.get(file.jaw, ""),
        state=_state(file, job),
        name=download.name if download else _("file {number}").format(number=file.number),
        size=size_in_words(download.size_bytes if download else file.size_bytes),
        is_own=is_own(desk, file),
        has_download=download is not None,
        can_be_confirmed=_can_be_confirmed(file, desk),
        has_failed=file.state == "failed" or (job is not None and job.state == "dead"),
        copy=derived_of(file),
        progress=job.progress if job else "",
        integrity=integrity,
        facts=tuple(_figures(integrity)) if integrity else (),
        notes=tuple(note["sentence"] for note in integrity["notes"]) if integrity else (),
    )


def _can_be_confirmed(file, desk):
    """Is it a whole proposal of the own party that waits for a person?"""
    return (
        is_own(desk, file)
        and not file.is_confirmed
        and file.is_current
        and file.state != "refused"
        and not objections_to_role(file.role, file.format, file.jaw, file.sites)
    )


def _state(file, job):
    if file.state == "readable" and file.format in MESHES and not file.unit_factor:
        return _("readable; its unit must be settled before anything is measured")
    if job and job.state == "dead":
        return _("could not be inspected")
    return str(STATES[file.state])


def _figures(integrity):
    """Label and value of what is worth reading first; lengths with two decimals."""
    extents = " × ".join(f"{length:.2f}" for length in integrity["extents_mm"])
    yield _("Size"), _("{extents} mm").format(extents=extents)
    yield _("Triangles"), f"{integrity['triangles']:,}".replace(",", " ")
    yield _("Holes and rims"), str(integrity["hole_count"])
    yield _("Pieces"), str(integrity["island_count"])
    yield _("Edges of more than two triangles"), str(integrity["non_manifold_edges"])
    if lengths := integrity["edge_length_mm"]:
        said = _("{median:.2f} mm in the middle, {p95:.2f} mm for 19 of 20")
        yield _("Edge length"), said.format(median=lengths["median"], p95=lengths["p95"])
    if integrity["volume_mm3"] is None:
        yield _("Volume"), _("none: {reason}").format(reason=integrity["no_volume_because"])
    else:
        yield _("Volume"), _("{volume:.2f} mm³").format(volume=integrity["volume_mm3"])
    yield _("Colour"), _("yes") if integrity["has_colour"] else _("no")


def bag_payloads(copies, open_key):
    """The copies as the archive wants them: each opened when its turn comes."""
    from casework.exchange.bag import Payload

    return [
        Payload(copy.name, copy.sha256, copy.size_bytes, lambda key=copy.key: open_key(key))
        for copy in copies
    ]
