"""What is told about the meshes of a case: their roles, sites, parts, materials and units?

Nothing here is measured. The same set is written by hand for the command line or put together
from the records of a case.
"""

from dataclasses import dataclass, field
from typing import Any

# Role of a file, and what it shows.
SCANS = {
    "working_arch_scan_bodies": "working arch with scan bodies",
    "working_arch": "working arch without scan bodies",
    "opposing_arch": "opposing arch",
    "bite_scan": "bite scan",
    "second_scan": "second, independent scan of the scan bodies",
    "raw_scan": "raw scan of which the file named by `of` was made",
    "earlier_scan": "earlier scan of the same patient, of the jaw of the file named by `of`",
}
PARTS = {
    "abutment": "custom abutment",
    "bridge": "bridge",
    "crown": "crown",
}
OTHERS = {
    "previous_version": "the part named by `of` as it was in the version before",
    "check_scan": "scan of the made part that is named by `of`",
}
ROLES = SCANS | PARTS | OTHERS
RETENTIONS = ("screw", "cement")
UNIT_KINDS = ("retainer", "pontic", "crown")


@dataclass(frozen=True, slots=True)
class File:
    """One mesh: its name in the set, what it is, and how its numbers become millimetres.

    `transform` is a (4, 4) motion, as rows, from the file's frame into that of the scans.
    """

    name: str
    role: str
    sha256: str = ""
    jaw: str = ""
    sites: tuple[str, ...] = ()
    unit_factor: float = 1.0
    transform: tuple[tuple[float, ...], ...] | None = None
    of: str = ""
    material: str = ""

    def told(self) -> dict:
        """What a result depends on beside the bytes."""
        return {
            "sha256": self.sha256,
            "unit_factor": self.unit_factor,
            "transform": self.transform,
        }


@dataclass(frozen=True, slots=True)
class Site:
    """One implant site and what stands or shall stand there."""

    site: str  # ISO 3950
    scan_body: str = ""  # name of its form
    near_mm: tuple[float, float, float] | None = None  # where somebody pointed at it
    # As the design program states it: origin_mm, axis, toward; or because it cannot be read.
    stated_pose: dict | None = None
    screw: dict = field(default_factory=dict)  # dimensions by name with unit
    driver: dict = field(default_factory=dict)
    channel_axis: tuple[float, float, float] | None = None  # of a turned channel
    margin_mm: tuple[tuple[float, float, float], ...] | None = None  # told margin line


@dataclass(frozen=True, slots=True)
class Unit:
    """One tooth to be replaced."""

    tooth: str
    kind: str
    stands_on: str = ""  # "implant", "tooth" or ""


@dataclass(frozen=True, slots=True)
class CaseSet:
    """Everything told; measuring reads this and the meshes, and nothing else."""

    files: tuple[File, ...] = ()
    sites: tuple[Site, ...] = ()
    units: tuple[Unit, ...] = ()
    forms: dict[str, dict] = field(default_factory=dict)  # of scan bodies, by name
    materials: dict[str, dict] = field(default_factory=dict)
    limits: dict[str, dict] = field(default_factory=dict)  # value and source, by name
    opening_mm: float | None = None
    retention: str = ""  # of the restorations, as ordered: one of RETENTIONS, or not told
    expected: int | None = None  # scan bodies, where sites are not named

    def of_role(self, *roles: str) -> tuple[File, ...]:
        return tuple(file for file in self.files if file.role in roles)

    def file(self, name: str) -> File | None:
        return next((file for file in self.files if file.name == name), None)

    def site(self, site: str) -> Site | None:
        return next((one for one in self.sites if one.site == site), None)

    def unit(self, tooth: str) -> Unit | None:
        return next((unit for unit in self.units if unit.tooth == tooth), None)

    @property
    def working_jaw(self) -> str:
        """The jaw in which the sites and units lie; empty where none or both are named."""
        named = [one.site for one in self.sites] + [unit.tooth for unit in self.units]
        jaws = {"upper" if tooth[0] in "12" else "lower" for tooth in named}
        jaws |= {file.jaw for file in self.of_role("working_arch_scan_bodies") if file.jaw}
        return jaws.pop() if len(jaws) == 1 else ""


def plain_told(value: Any) -> Any:
    """Return told values as JSON holds them, tuples as lists."""
    if isinstance(value, dict):
        return {key: plain_told(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [plain_told(one) for one in value]
    return value
