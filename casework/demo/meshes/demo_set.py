"""Which mesh files does the demo upload, and what is each of them?"""

from dataclasses import dataclass
from pathlib import Path

from casework.demo.meshes.arches import bite_scan, lower_arch, upper_arch
from casework.demo.meshes.designs import bridge, crown, custom_abutment
from casework.demo.meshes.scan_bodies import ScanBodyForm
from casework.demo.meshes.writing import write_ply, write_stl

FULL_ARCH = 66_000  # triangles at scale 1, those at implants apart
SEGMENT = 27_000
BITE = 27_000


@dataclass(frozen=True)
class DemoFile:
    """One written file and the truth about it."""

    case: str  # "bridge 45-47", "crown 36" or "front 11"
    path: Path
    role: str  # as evidence is kept
    jaw: str  # "lower", "upper" or "both"
    sites: tuple
    part: str = ""  # kind of the designed part, empty for scans


class _Folder:
    """Writes the files of one case and remembers what they are."""

    def __init__(self, folder, case):
        self.folder, self.case, self.rows = Path(folder), case, []
        self.folder.mkdir(parents=True, exist_ok=True)

    def scan(self, name, mesh, role, jaw, sites=()):
        path = self.folder / name
        if path.suffix == ".ply":
            write_ply(path, mesh.vertices, mesh.faces, mesh.colours)
        else:
            write_stl(path, mesh.vertices, mesh.faces)
        self.rows.append(DemoFile(self.case, path, role, jaw, tuple(sites)))

    def part(self, name, mesh, kind, jaw, sites):
        path = self.folder / name
        write_stl(path, mesh.vertices, mesh.faces)
        self.rows.append(DemoFile(self.case, path, "design_part", jaw, tuple(sites), kind))


def _bridge_case(folder, seed, scale):
    files, gap, held = _Folder(folder, "bridge 45-47"), ("45", "46", "47"), ("45", "47")
    bodies = {site: ScanBodyForm() for site in held}
    full, part = int(FULL_ARCH * scale), int(SEGMENT * scale)
    files.scan(
        "lower-with-scan-bodies.ply",
        lower_arch(seed, gap, bodies, triangles=full, noise_seed=1, is_fine_at_implants=True),
        "working_arch_scan_bodies", "lower", held,
    )  # fmt: skip
    files.scan(
        "lower-tissue.ply",
        lower_arch(seed, gap, triangles=full, noise_seed=2, is_fine_at_implants=True),
        "working_arch", "lower", held,
    )  # fmt: skip
    files.scan(
        "upper.stl", upper_arch(seed, triangles=full, noise_seed=3), "opposing_arch", "upper"
    )
    files.scan(
        "bite-right.ply",
        bite_scan(seed, gap, triangles=int(BITE * scale), noise_seed=4),
        "bite_scan", "both",
    )  # fmt: skip
    files.scan(
        "lower-scan-bodies-again.stl",
        lower_arch(
            seed, gap, bodies, span=("43", "47"), triangles=part, noise_seed=5,
            is_fine_at_implants=True,
        ),
        "second_scan", "lower", held,
    )  # fmt: skip
    for site in held:
        mesh = custom_abutment(site, seed, gap)
        files.part(f"abutment-{site}.stl", mesh, "custom abutment", "lower", (site,))
    files.part("bridge-45-47.stl", bridge(gap, seed), "bridge", "lower", gap)
    return files.rows


def _single_case(folder, case, seed, scale, *, site, span, facing, bite):
    """A single implant: segments of both jaws, the bite, and a screw-retained crown."""
    files = _Folder(folder, case)
    jaw, other = ("lower", "upper") if site[0] in "34" else ("upper", "lower")
    scans = {"lower": lower_arch, "upper": upper_arch}
    size = int(SEGMENT * scale)
    for name, role, bodies, turn in (
        (f"{jaw}-with-scan-body.ply", "working_arch_scan_bodies", {site: ScanBodyForm()}, 1),
        (f"{jaw}-tissue.ply", "working_arch", None, 2),
    ):
        mesh = scans[jaw](
            seed, (site,), bodies, span=span, triangles=size, noise_seed=turn,
            is_fine_at_implants=True,
        )  # fmt: skip
        files.scan(name, mesh, role, jaw, (site,))
    mesh = scans[other](seed, (), span=facing, triangles=size, noise_seed=3)
    files.scan(f"{other}.stl", mesh, "opposing_arch", other)
    mesh = bite_scan(seed, (site,), span=bite, triangles=int(BITE * scale), noise_seed=4)
    files.scan("bite.ply", mesh, "bite_scan", "both")
    files.part(f"crown-{site}.stl", crown(site, seed), "crown", jaw, (site,))
    return files.rows


def write_demo_set(folder, seed=1, scale=1.0):
    """Write every mesh of the demo's three cases; each case is another invented patient."""
    folder = Path(folder)
    rows = _bridge_case(folder / "bridge-45-47", seed, scale)
    rows += _single_case(
        folder / "crown-36", "crown 36", seed + 1, scale,
        site="36", span=("37", "33"), facing=("27", "23"), bite=("37", "34"),
    )  # fmt: skip
    rows += _single_case(
        folder / "front-11", "front 11", seed + 2, scale,
        site="11", span=("14", "24"), facing=("44", "34"), bite=("43", "33"),
    )  # fmt: skip
    return rows
