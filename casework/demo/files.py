"""Which files does the demo upload? Generated once, all synthetic, kept for the next run."""

import json
import os
import shutil
from dataclasses import dataclass
from datetime import datetime, time
from hashlib import sha256
from pathlib import Path
from tempfile import TemporaryDirectory

from casework.demo import meshes
from casework.demo.meshes import DemoFile, radiograph, shade_photo, write_demo_set

SEED = 45


@dataclass(frozen=True)
class WorkFiles:
    """The files of one kind of work; pictures are drawn for the day they are taken."""

    folder: Path
    scans: list
    parts: list

    def radiograph(self, site, taken_on):
        return self._drawn(
            taken_on, f"radiograph-{site}.dcm", lambda to: radiograph(to, SEED, site, taken_on)
        )

    def photo(self, number, taken_on):
        taken_at = datetime.combine(taken_on, time(9, 30))
        name = f"photo-{number}.jpg"
        return self._drawn(
            taken_on, name, lambda to: shade_photo(to, SEED + number, taken_at, name=name).path
        )

    def _drawn(self, taken_on, name, draw):
        """The picture of that day; drawn apart and moved in, so nobody reads half of it."""
        kept = self.folder / "pictures" / taken_on.isoformat() / name
        if not kept.exists():
            kept.parent.mkdir(parents=True, exist_ok=True)
            with TemporaryDirectory(dir=self.folder) as drawing:
                draw(Path(drawing)).replace(kept)
        return kept


def prepare_files(folder, works, *, scale=1.0):
    """Write the meshes that are not there yet and return the files of each work by its key."""
    folder = Path(folder)
    rows = _meshes(folder, scale)
    return {
        work.key: WorkFiles(
            folder=folder,
            scans=[row for row in rows if row.case == work.key and not row.part],
            parts=[row for row in rows if row.case == work.key and row.part],
        )
        for work in works
    }


def _made_by():
    """What stands for the present shapes: meshes of earlier ones are not taken for them."""
    digest = sha256()
    for path in sorted(Path(meshes.__file__).parent.glob("*.py")):
        digest.update(path.read_bytes())
    return digest.hexdigest()[:12]


def _meshes(folder, scale):
    kept = folder / f"meshes-{scale}-{_made_by()}"
    if not kept.exists():
        making = folder / f"making-{os.getpid()}"
        rows = write_demo_set(making, seed=SEED, scale=scale)
        told = [
            [
                row.case,
                str(row.path.relative_to(making)),
                row.role,
                row.jaw,
                row.sites,
                row.part,
            ]
            for row in rows
        ]
        (making / "list.json").write_text(json.dumps(told))
        try:
            making.rename(kept)
        except OSError:
            # Another run was first; its files are the same.
            shutil.rmtree(making)
    return [
        DemoFile(case, kept / path, role, jaw, tuple(sites), part)
        for case, path, role, jaw, sites, part in json.loads((kept / "list.json").read_text())
    ]
