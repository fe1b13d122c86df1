"""What can a file of a case be, what does its name suggest, and how is it named outside?"""

import re
import unicodedata
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from casework.limits import bytes_of
from casework.measure.units import UNITS_MM, unit_suggestions

MESHES = frozenset({"STL", "PLY", "OBJ"})
PICTURES = frozenset({"JPEG", "PNG", "TIFF"})
RADIOGRAPHS = PICTURES | {"DICOM"}
DOCUMENTS = PICTURES | {"PDF", "text"}
FORMATS = ("STL", "PLY", "OBJ", "DICOM", "JPEG", "PNG", "TIFF", "PDF", "text")
ACCEPTED = "STL, PLY, OBJ, DICOM, JPEG, PNG, TIFF, PDF, plain text (.txt) or a ZIP of these"
ENDINGS = {
    "STL": "stl",
    "PLY": "ply",
    "OBJ": "obj",
    "DICOM": "dcm",
    "JPEG": "jpg",
    "PNG": "png",
    "TIFF": "tif",
    "PDF": "pdf",
    "text": "txt",
}
# Names ending so announce a surface; a picture under such a name is a mistake.
MESH_ENDINGS = frozenset({"stl", "ply", "obj"})
JAWS = {"upper": "upper", "lower": "lower", "both": "both jaws"}


@dataclass(frozen=True, slots=True)
class FileRole:
    """What a file stands for. `sites` and `jaw`: are they needed ("needed", "possible", "")?

    `leaves`: may a copy go to another party; `area`: who sees it (cases.rules);
    `size`: the class its size is judged by ("arch", "part" or "").
    """

    slug: str
    label: str
    formats: frozenset[str]
    jaw: str = ""
    sites: str = ""
    leaves: bool = True
    area: str = "scans"
    size: str = ""

    @property
    def is_mesh(self):
        return self.formats == MESHES


def _table(*roles):
    return {role.slug: role for role in roles}


ROLES = _table(
    FileRole(
        "working_arch_scan_bodies",
        "Working arch with scan bodies",
        MESHES,
        jaw="needed",
        sites="possible",
        size="arch",
    ),
    FileRole(
        "working_arch",
        "Working arch without scan bodies (mucosal profile)",
        MESHES,
        jaw="needed",
        sites="possible",
        size="arch",
    ),
    FileRole("opposing_arch", "Opposing arch", MESHES, jaw="needed", size="arch"),
    FileRole("bite_scan", "Bite scan", MESHES, size="arch"),
    FileRole(
        "second_scan",
        "Second, independent scan of the scan bodies",
        MESHES,
        jaw="needed",
        sites="possible",
        size="arch",
    ),
    FileRole(
        "margins",
        "Prepared margins",
        MESHES,
        jaw="needed",
        sites="needed",
        size="part",
    ),
    FileRole(
        "provisional",
        "Provisional restoration",
        MESHES,
        jaw="needed",
        sites="possible",
        size="part",
    ),
    FileRole("radiograph", "Radiograph", RADIOGRAPHS, sites="needed"),
    FileRole("photograph", "Photograph", PICTURES, area="pictures"),
    FileRole(
        "shade_photograph",
        "Photograph with shade tab and grey card",
        PICTURES,
        sites="possible",
        area="pictures",
    ),
    FileRole(
        "report",
        "Report (stays with the party that holds it)",
        DOCUMENTS,
        sites="possible",
        leaves=False,
        area="pictures",
    ),
    FileRole(
        "design_part",
        "Part of a design",
        MESHES,
        sites="needed",
        area="design",
        size="part",
    ),
    FileRole(
        "stated_poses",
        "Implant poses as the design program states them",
        frozenset({"text"}),
        leaves=False,
        area="design",
    ),
    FileRole(
        "check_scan",
        "Check scan of a made part",
        MESHES,
        sites="possible",
        area="design",
        size="part",
    ),
)

# Largest extent in millimetres of what a file of a size class shows. Common practice, no
# published source: a single site is 15 mm long at least, an arch with its gingiva 90 mm across
# at most; a single crown is 5 to 15 mm, a full-arch bridge up to 90 mm.
ARCH, PART = "dental arch or a segment of it", "made part"
RANGES_MM = {ARCH: (15.0, 90.0), PART: (2.0, 90.0)}
UNIT_FACTORS = {name: f"{factor:g}" for name, factor in UNITS_MM}

# What one upload may bring. A volume of radiographs has some 300 MB, a scan 10 to 100 MB.
FILE_MAX_BYTES = bytes_of("upload_file_size")
REQUEST_MAX_BYTES = 2 * FILE_MAX_BYTES
FILES_MAX = 100


@dataclass(frozen=True, slots=True)
class Proposal:
    """What a file may be, guessed from its name and content; a person confirms."""

    role: str = ""
    jaw: str = ""
    sites: tuple[str, ...] = ()


# The first row with a word in the name wins. Words as scan programs' users type them.
_WORDS = (
    ("margins", ("margin", "margins", "finishline", "prepline")),
    ("bite_scan", ("bite", "occlusion", "occlusal", "buccal", "bitescan", "registration")),
    ("second_scan", ("second", "repeat", "verification")),
    ("check_scan", ("check", "checkscan")),
    (
        "working_arch_scan_bodies",
        ("scanbody", "scanbodies", "scan body", "scan bodies", "sb", "scanmarker"),
    ),
    ("opposing_arch", ("opposing", "antagonist", "opponent")),
    ("provisional", ("provisional", "temporary", "temp")),
    (
        "design_part",
        ("design", "crown", "bridge", "abutment", "framework", "coping", "restoration"),
    ),
    (
        "working_arch",
        ("gingiva", "tissue", "mucosa", "mucosal", "emergence", "working", "preparation"),
    ),
)
_PICTURE_WORDS = (
    ("shade_photograph", ("shade", "colour", "color", "tab", "grey", "gray")),
    ("radiograph", ("radiograph", "xray", "x ray", "periapical", "pa", "bitewing", "opg")),
    ("report", ("report", "letter", "referral")),
)
_JAWS = (
    ("upper", ("upper", "maxilla", "maxillary", "maxillar", "upperjaw", "ok", "oben")),
    ("lower", ("lower", "mandible", "mandibular", "lowerjaw", "uk", "unten")),
)


def words_of(name: str) -> str:
    """The lower-case words of a file's name, its ending left out, one blank between them."""
    stem = name.rsplit(".", 1)[0] if "." in name else name
    stem = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", stem)
    stem = re.sub(r"(?<=[A-Za-z])(?=\d)|(?<=\d)(?=[A-Za-z])", " ", stem)
    return " ".join(re.findall(r"[^\W_]+", stem.lower()))


def propose(name: str, file_format: str, *, sites: Collection[str] = ()) -> Proposal:
    """Guess role, jaw and sites of a file called `name`; `sites` are the order's implants.

    Only sites of the order are proposed: a number in a name may be a date or another notation.
    """
    words = words_of(name)
    named = tuple(site for site in sites if _has(words, (site,)))
    jaw = _first(words, _JAWS) or _jaw_of(named)
    if file_format not in MESHES:
        return Proposal(_picture_role(words, file_format), "", named)
    role = _first(words, _WORDS)
    work_jaw = _jaw_of(sites)
    if not role and jaw and work_jaw in {"upper", "lower"}:
        role = "working_arch" if jaw == work_jaw else "opposing_arch"
    if not jaw and work_jaw in {"upper", "lower"}:
        other = {"upper": "lower", "lower": "upper"}[work_jaw]
        is_work = role in {"working_arch", "working_arch_scan_bodies", "second_scan", "margins"}
        jaw = other if role == "opposing_arch" else work_jaw if is_work else ""
    takes = ROLES.get(role)
    return Proposal(
        role,
        jaw if takes is None or takes.jaw else "",
        named if takes is None or takes.sites else (),
    )


def objections_to_role(
    role: str, file_format: str, jaw: str, sites: Iterable[str]
) -> tuple[str, ...]:
    """What stands against calling a file this; empty when nothing does."""
    known = ROLES.get(role)
    if known is None:
        return ("Say what the file is: choose its role.",)
    found = []
    if file_format not in known.formats:
        accepted = ", ".join(f for f in FORMATS if f in known.formats)
        found.append(
            f"A file in the format {file_format} cannot be “{known.label}”: that is sent as"
            f" {accepted}."
        )
    if jaw and jaw not in JAWS:
        found.append("Jaw: choose upper, lower or both jaws.")
    elif known.jaw == "needed" and not jaw:
        found.append(f"Jaw: say which jaw the file “{known.label}” shows.")
    sites = tuple(sites)
    wrong = [site for site in sites if not re.fullmatch(r"[1-4][1-8]", site)]
    if wrong:
        found.append(f"Sites: {', '.join(wrong)} is no permanent tooth of ISO 3950.")
    elif known.sites == "needed" and not sites:
        found.append(f"Sites: say which sites the file “{known.label}” is about.")
    return tuple(found)


def unit_question(role: str, extents: Iterable[float]) -> str:
    """What to ask about the unit of a mesh of this size, "" where millimetres are credible.

    `extents`: the numbers as they stand in the file.
    """
    kind = PART if role in ROLES and ROLES[role].size == "part" else ARCH
    guess = unit_suggestions(tuple(extents), kind, RANGES_MM)
    return "" if guess.is_credible else guess.sentence()


def label_of(role: str) -> str:
    return ROLES[role].label if role in ROLES else "not said yet"


def may_see(role: str, areas: Collection[str], *, is_milling: bool = False) -> bool:
    """May somebody who sees these areas of a case see a file of this role?

    A milling centre sees the parts it makes and nothing else.
    """
    if is_milling:
        return role == "design_part" and "parts" in areas
    return (ROLES[role].area if role in ROLES else "scans") in areas


def handed_name(
    code: str, sites: Iterable[str], role: str, jaw: str, number: int, file_format: str
) -> str:
    """The name a file has for other parties: code-site-role, its number keeps it unique."""
    place = "_".join(sites) or jaw or "case"
    return f"{code}-{place}-{role or 'file'}-{number}.{ENDINGS[file_format]}"


def clean_name(name: str) -> str:
    """A name as typed, without control characters and folders, short enough to keep."""
    text = unicodedata.normalize("NFC", name).replace("\\", "/").rsplit("/", 1)[-1]
    text = "".join(c for c in text if c.isprintable()).strip()
    if len(text) > 200:
        stem, dot, ending = text.rpartition(".")
        keep = f".{ending}" if dot and len(ending) < 10 else ""
        text = (stem if keep else text)[: 200 - len(keep)] + keep
    return text or "file without a name"


def ending_of(name: str) -> str:
    return name.rsplit(".", 1)[-1].lower() if "." in name else ""


def size_in_words(count: int) -> str:
    """A number of bytes as people read it: whole numbers, powers of 1024."""
    for unit in ("bytes", "KiB", "MiB"):
        if count < 10240 or unit == "MiB":
            return f"{count} {unit}"
        count //= 1024


def _has(words, wanted):
    return any(f" {word} " in f" {words} " for word in wanted)


def _first(words, table):
    return next((key for key, wanted in table if _has(words, wanted)), "")


def _jaw_of(sites):
    jaws = {"upper" if site[:1] in "1256" else "lower" for site in sites if site}
    return jaws.pop() if len(jaws) == 1 else "both" if jaws else ""


def _picture_role(words, file_format):
    if file_format == "text" and _has(words, ("poses", "positions")):
        return "stated_poses"
    if file_format in {"PDF", "text"}:
        return "report"
    if file_format == "DICOM":
        return "radiograph"
    return _first(words, _PICTURE_WORDS) or "photograph"
