"""What is there to be seen of a case: surfaces, implants, places, and from which sides?

Everything as plain values for the page's script. Nothing is measured here: places and lengths
are those the background found, and what it has not found yet is not shown.
"""

import math
from dataclasses import dataclass

from django.urls import reverse
from django.utils.translation import gettext as _

from casework.checks import file_words
from casework.designs import rules
from casework.designs.models import ReviewMark
from casework.designs.queries import current_version, parts_of
from casework.evidence.queries import files_for
from casework.findings.measure_pages import title_of
from casework.findings.measuring import drawn, measured
from casework.findings.queries import standing_of
from casework.findings.told import PART_ROLES
from casework.measure.sets.told import PARTS, File
from casework.measure.surfaces.colours import one_hue
from casework.measurements.judged import result_of
from casework.measurements.pictures.kinds import FIELDS, Field
from casework.measurements.pictures.making import COLOURS, SCAN
from casework.measurements.pictures.outlines import driver_outline, screw_outline
from casework.previews.queries import previews_of
from casework.stages import moves_from
from casework.viewer.sides import sides_of
from orders.teeth import Notation, write_tooth

# Beside those of the printed pictures: what is seen of them needs a cut, or parts put aside.
ROOM = Field("room", "Room over the abutments", 2.5, 0.0, ("ceramic_room",))
CHANNEL = Field("channel", "Wall around the screw's channel", 1.5, 0.0, ("channel_wall",))
CHANGE = Field("change", "Change from the version before", 0.0, 0.5, ())
WORKING = ("working_arch", "working_arch_scan_bodies")
SEEN = (*WORKING, "opposing_arch", "bite_scan", "second_scan", "check_scan", "previous_version")
MOST_LIMITS = 2  # lines that the script draws on a surface
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
TITLES = {
    "working_arch": "Working arch",
    "working_arch_scan_bodies": "Working arch with scan bodies",
    "opposing_arch": "Opposing arch",
    "bite_scan": "Bite scan",
    "second_scan": "Second scan of the scan bodies",
    "check_scan": "Scan of the made part",
    "previous_version": "Version before",
    "abutment": "Abutment",
    "bridge": "Bridge",
    "crown": "Crown",
}


@dataclass(frozen=True)
class Seen:
    """What one page shows: the findings in words, and the scene for the script."""

    is_present: bool
    move: object
    findings: list
    surfaces: list
    fields: list
    implants: list
    pictures: list
    marks: list
    scene: dict
    waiting: list

    @property
    def has_before(self):
        return any(one["role"] == "previous_version" for one in self.surfaces)


def seen_at(desk, on, version=None):
    """What a desk sees of its case and, where given, of a version of the design."""
    case = desk.case
    told, done, waiting, _not_told = measured(case)
    is_present = version is not None and version == current_version(case)
    files = {file_words(file.number): file for file in files_for(desk, with_superseded=True)}
    rows = [row for row in told.files if row.role in SEEN or is_present and row.role in PARTS]
    rows = [row for row in rows if row.name in files]
    if version is None or not is_present:
        rows = [row for row in rows if row.role != "previous_version"]
    if version is not None and not is_present:
        rows += _parts_of_other(version, files)
    previews = previews_of(files[row.name] for row in rows)
    drawings = drawn(case) if is_present else {}
    surfaces = _surfaces(case, version, rows, files, previews, drawings)
    results = [
        row
        for one in done
        if is_present or not one.planned.about_design
        for row in one.values["results"]
    ]
    handed = {(one.planned.step, one.planned.subject): one.values["handed"] for one in done}
    poses = handed.get(("sites", ""), {}).get("poses", {})
    implants = _implants(told, poses, desk.member.party)
    move = _next_move(desk)
    findings = _findings(desk, move, on, results) if version is None or is_present else []
    marks = _marks(version) if version else []
    scene = {
        "surfaces": surfaces,
        "implants": implants,
        "pins": [_pin(row) for row in findings if row["place_mm"]]
        + [_mark_pin(one) for one in marks if one["letter"]],
        "directions": _directions(rows, files, previews, handed, implants),
        "ramp": one_hue().tolist(),
        "words": _words(),
    }
    return Seen(
        is_present=is_present,
        move=move,
        findings=findings,
        surfaces=surfaces,
        fields=list({row["name"]: row for one in surfaces for row in one["fields"]}.values()),
        implants=implants,
        pictures=drawings.get("pictures", []),
        marks=marks,
        scene=scene,
        waiting=_waiting(rows, files, previews, waiting, is_present, drawings),
    )


def _waiting(rows, files, previews, steps, is_present, drawings):
    """What is not there yet, in words: surfaces without preview, values, pictures."""
    waiting = [row.name for row in rows if files[row.name].pk not in previews]
    waiting += sorted(
        {title_of(one.step) for one in steps if is_present or not one.about_design}
    )
    if is_present and not drawings and any(row.role in PARTS for row in rows):
        waiting.append(_("pictures and colours"))
    return waiting


def _parts_of_other(version, files):
    """The parts of a version that is not the present one, as a set would name them."""
    return [
        File(file_words(part.evidence.number), PART_ROLES[part.kind], sites=tuple(part.sites))
        for part in parts_of(version)
        if part.evidence
        and part.kind in PART_ROLES
        and file_words(part.evidence.number) in files
    ]


def _surfaces(case, version, rows, files, previews, drawings):
    parts = {}
    if version is not None:
        parts = {file_words(p.evidence.number): p.pk for p in parts_of(version) if p.evidence}
    first = next((r for role in WORKING for r in rows if r.role == role), None)
    surfaces = []
    for row in rows:
        file = files[row.name]
        preview = previews.get(file.pk)
        if preview is None:
            continue
        is_part = row.role in PARTS
        surfaces.append(
            {
                "name": row.name,
                "number": file.number,
                "title": _title(row),
                "role": row.role,
                "of": row.of,
                "part": parts.get(row.name),
                "url": reverse("case_preview", args=[case.code, file.number]),
                "colour": _colour(row.role),
                "is_solid": is_part or row.role == "previous_version",
                "is_shown": is_part or row is first,
                "triangles": preview.triangle_count,
                "of_triangles": preview.of_triangle_count,
                "error_um": math.ceil(preview.error_p99_um),
                "fields": _fields(case, version, file, drawings) if is_part else [],
            }
        )
    order = (*PARTS, *SEEN)
    return sorted(surfaces, key=lambda one: order.index(one["role"]))


def _title(row):
    ends = dict.fromkeys((*row.sites[:1], *row.sites[-1:]))
    return " ".join([_(TITLES[row.role]), *filter(None, ["-".join(ends)])])


def _colour(role):
    red, green, blue = COLOURS.get(role, SCAN)
    return (red << 16) + (green << 8) + blue


def _fields(case, version, file, drawings):
    name = file_words(file.number)
    known = {one["name"]: one for one in drawings.get("fields", []) if one["file"] == name}
    return [
        {
            "name": one.name,
            "title": _(one.title),
            "legend": _legend(one),
            "light_mm": one.light_mm,
            "dark_mm": one.dark_mm,
            "limits": _limits(one, known[one.name]["limits"]),
            "is_signed": one is CHANGE,
            "url": reverse(
                "design_field", args=[case.code, version.number, file.number, one.name]
            ),
        }
        for one in (*FIELDS, ROOM, CHANNEL, CHANGE)
        if one.name in known
    ]


def _limits(one, limits):
    """The limits that lie on the scale, those of one length together."""
    low, high = sorted((one.light_mm, one.dark_mm))
    words = {}
    for word, mm in limits:
        if low < mm < high:
            words.setdefault(mm, []).append(_(word))
    return [{"mm": mm, "words": ", ".join(words[mm])} for mm in sorted(words)][:MOST_LIMITS]


def _legend(one):
    if one is CHANGE:
        return _("{title} in mm, outward or inward: dark is where to look").format(
            title=_(one.title)
        )
    return _("{title} in mm: dark is where to look").format(title=_(one.title))


def _implants(told, poses, party):
    sites = {one.site: one for one in told.sites}
    rows = []
    for site, pose in poses.items():
        if not pose:
            continue
        lengths = {"screw": sites[site].screw, "driver": sites[site].driver}
        rows.append(
            {
                "site": site,
                "label": write_tooth(site, Notation(party.notation)),
                "origin_mm": pose["origin_mm"],
                "axis": pose["axis"],
                "screw": screw_outline(lengths["screw"] or {}),
                "driver": driver_outline({k: v or {} for k, v in lengths.items()}),
            }
        )
    return rows


def _next_move(desk):
    """The move that a desk can make next and that is checked, or the one others make next."""
    moves = [move for move in moves_from(desk.case.stage) if move.checks]
    own = [move for move in moves if desk.may_move(move)]
    return next(iter(own or moves), None)


def _findings(desk, move, on, results):
    """The findings of the next move, each with the place of the value that it judges."""
    if move is None:
        return []
    standing = standing_of(desk.case, move, on=on, preview=True)
    rows = []
    for number, shown in enumerate([*standing.findings, *standing.expected], start=1):
        told = {"subject": shown.subject, "measured": shown.measured} | shown.judged
        index = result_of(told, results)
        result = results[index] if index is not None else None
        rows.append(
            {
                "number": number,
                "shown": shown,
                "place_mm": result["place_mm"] if result else None,
            }
        )
    return rows


def _pin(row):
    shown = row["shown"]
    return {
        "number": row["number"],
        "id": f"finding-{row['number']}",
        "kind": shown.weight,
        "label": f"{shown.title} {shown.where}".strip(),
        "place_mm": row["place_mm"],
    }


def _marks(version):
    """The marks on a version, and those on the one before that a draft is to answer."""
    versions = [version.pk]
    if version.state == rules.DRAFT:
        before = version.case.designs.filter(number__lt=version.number, state=rules.RETURNED)
        versions += before.order_by("-number").values_list("pk", flat=True)[:1]
    rows = ReviewMark.objects.filter(version__in=versions)
    letters = iter(LETTERS)
    return [
        {"row": row, "letter": next(letters, "+") if row.place_mm else ""}
        for row in rows.select_related("made_by__person", "part", "version").order_by("pk")
    ]


def _mark_pin(mark):
    row = mark["row"]
    return {
        "number": mark["letter"],
        "id": f"mark-{row.pk}",
        "kind": "mark",
        "label": _("Mark: {text}").format(text=row.text),
        "place_mm": row.place_mm,
        "toward": row.facing,
    }


def _directions(rows, files, previews, handed, implants):
    """From which sides the case is looked at: by its working arch, else by what there is."""
    known = [row for row in rows if files[row.name].pk in previews]
    wanted = (*WORKING, "opposing_arch")
    scan = next((row for role in wanted for row in known if row.role == role), None)
    return sides_of(
        preview=previews[files[scan.name].pk] if scan else None,
        is_upper=bool(scan) and scan.jaw == "upper",
        frames=handed.get(("arch", ""), {}).get("frames", {}),
        axes=[row["axis"] for row in implants],
    )


def _words():
    """What the script says, in the reader's language."""
    return {
        "not_loaded": _("Not everything could be loaded. Load the page again."),
        "context_lost": _("The picture was lost. Load the page again."),
        "ruler": _("Press two places."),
        "second_place": _("Press the second place."),
        "on_preview": _("Read on the preview; measured values stand in the list."),
        "point": _("Press the top of a scan body in the scan that shows it."),
        "point_elsewhere": _(
            "That is not the scan with scan bodies. Show it, and press there."
        ),
        "point_placed": _("The place is taken. Say which site it is, and save."),
        "mark": _("Press the place that your mark is about."),
        "mark_placed": _("The place is taken. Say what should be changed, and save the mark."),
        "press_for_value": _("Press a place to read its value."),
        "not_known": _("not known there"),
        "not_carried": _("The picture is too large to come along. Make the window smaller."),
        "version_before": _("Shown: the version before."),
        "version_now": _("Shown: this version."),
    }
