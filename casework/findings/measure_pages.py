"""What of a case was measured, for whoever sees its scans or its design?"""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from casework.designs.queries import current_version
from casework.designs.rules import DRAFT
from casework.findings.measuring import measured, words_of
from casework.findings.queries import subject_words
from casework.measure.quantities import quantities
from casework.measure.results import with_bound
from casework.stages import Side
from orders.jobs.queries import pending

AREAS = frozenset({"scans", "design"})
# Steps whose own name says too little.
TITLES = {
    "frames": "Scans in one frame",
    "earlier": "Teeth of an earlier scan",
    "sites": "Where the implants stand",
    "between": "Between the implants",
    "room": "Room before anything is designed",
    "jaws": "Jaws in their bite",
    "abutment_room": "Abutments and opposing jaw",
    "path": "Path of insertion",
    "margin_depth": "Margins below the gum",
    "bite": "Design and opposing jaw",
    "screw": "Screw and driver",
    "processed": "Processed scans against raw ones",
    "versions": "Against the version before",
    "check_scan": "Made parts against the design",
    "scan": "Each file",
    "regions": "Scans where it matters",
}
# Steps that say how good the files are; they stand behind what they were measured for.
OF_FILES = ("scan", "regions")
LEAST_SHOWN = (0.01, 1)  # of a doubt; in µm


@dataclass(frozen=True, slots=True)
class Row:
    """One measured value in words."""

    title: str
    subject: str
    value: str
    doubt: str
    method: str
    because: str
    place: str
    region: str


@dataclass(frozen=True, slots=True)
class Group:
    """The values of one step, those of one quantity together."""

    title: str
    blocks: tuple[tuple[Row, ...], ...]
    count: int
    unknown: int

    @classmethod
    def of(cls, step, rows):
        blocks = {}
        for row in rows:
            blocks.setdefault((row.title, row.method), []).append(row)
        return cls(
            title_of(step),
            tuple(tuple(block) for block in blocks.values()),
            len(rows),
            sum(bool(row.because) for row in rows),
        )


@dataclass(frozen=True, slots=True)
class Page:
    """Everything measured that one desk sees."""

    groups: tuple[Group, ...]
    waiting: tuple[str, ...]
    not_told: tuple
    progress: str

    @property
    def is_running(self):
        return bool(self.progress)


def title_of(step):
    """How people call what a step measures."""
    return TITLES.get(step) or step.replace("_", " ").capitalize()


def sees_measures(desk):
    return bool(AREAS & desk.areas)


def page_for(desk):
    """What was measured, step by step; a draft's values are the laboratory's alone."""
    _told, done, waiting, not_told = measured(desk.case)
    sees_design = _sees_design(desk)
    groups = {}
    for one in done:
        if sees_design or not one.planned.about_design:
            rows = groups.setdefault(one.planned.step, [])
            rows += [row_of(result) for result in one.values["results"]]
    job = pending("findings.measure", [desk.case.pk]).get(desk.case.pk)
    return Page(
        groups=tuple(
            Group.of(step, groups[step])
            for step in sorted(groups, key=OF_FILES.__contains__)
            if groups[step]
        ),
        waiting=tuple(words_of(one) for one in waiting if sees_design or not one.about_design),
        not_told=tuple(one for one in not_told if sees_design or not one.about_design),
        progress=(job.progress or job.state) if job and job.state != "dead" else "",
    )


def _sees_design(desk):
    if not desk.sees("design"):
        return False
    version = current_version(desk.case)
    return desk.side == Side.LABORATORY or (version is not None and version.state != DRAFT)


def row_of(result):
    """A measured value as people read it: millimetres with two decimals."""
    quantity = quantities().get(result["quantity"])
    place = result["place_mm"]
    return Row(
        title=quantity.title if quantity else result["quantity"].replace("_", " "),
        subject=subject_words(result["subject"]),
        value=_value(result),
        doubt=_doubt(result),
        method=result["method"],
        because=result["because"],
        place="" if place is None else ", ".join(f"{x:.1f}" for x in place),
        region=result["details"].get("region") or result["details"].get("side") or "",
    )


def _value(result):
    if result["value"] is None:
        return ""
    return with_bound(in_words(result["value"], result["unit"]), result["details"])


def _doubt(result):
    if result["uncertainty"] is None or result["value"] is None:
        return ""
    doubt, unit = result["uncertainty"], result["unit"]
    least = LEAST_SHOWN[unit == "µm"]
    if doubt < least / 2:
        return _("± less than {least}").format(least=in_words(least, unit))
    return f"± {in_words(doubt, unit)}"


def in_words(value, unit):
    """A number with its unit: two decimals in mm, mm² and degrees, none in µm and counts."""
    words = {"mm2": "mm²", "deg": "°", "mm3": "mm³"}.get(unit, unit)
    if unit == "µm" or (not unit and float(value).is_integer()):
        return f"{value:.0f} {words}".rstrip()
    return f"{value:.2f} {words}".rstrip()
