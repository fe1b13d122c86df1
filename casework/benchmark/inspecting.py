"""How fast is a scan inspected, beside a general library that is asked the same?"""

import statistics
import tempfile
import time
from pathlib import Path

import numpy as np

from casework.demo.meshes import arches
from casework.demo.meshes.writing import write_stl
from casework.measure.integrity import inspect
from casework.measure.reading import read_mesh

TARGET_RATIO = 3.0


class LibraryMissing(Exception):
    """The library to compare with belongs to the tests and is not installed."""


def ring(triangles):
    """A closed body: a torus of 20 and 6 mm with about so many triangles, and none bent."""
    count = max(3, round((triangles / 2) ** 0.5))
    turn = np.arange(count) * (2 * np.pi / count)
    across, around = (angles.ravel() for angles in np.meshgrid(turn, turn, indexing="ij"))
    reach = 20 + 6 * np.cos(around)
    vertices = np.column_stack(
        [reach * np.cos(across), reach * np.sin(across), 6 * np.sin(around)]
    )
    i, j = (index.ravel() for index in np.indices((count, count)))
    a, b = i * count + j, (i + 1) % count * count + j
    c, d = (i + 1) % count * count + (j + 1) % count, i * count + (j + 1) % count
    faces = np.concatenate([np.column_stack([a, b, c]), np.column_stack([a, c, d])])
    return vertices, faces


def arch(triangles):
    scan = arches.lower_arch(1, missing=(), triangles=triangles)
    return scan.vertices, scan.faces


BODIES = (("a closed ring", ring), ("a scan of a jaw, open", arch))


def by_us(path):
    report = inspect(read_mesh(path))
    return report.triangles, report.is_closed, report.island_count, report.bounds_mm


def by_library(path):
    import trimesh

    mesh = trimesh.load(path)
    return len(mesh.faces), bool(mesh.is_watertight), int(mesh.body_count), mesh.bounds


def measure(triangles, runs, say):
    """Say the times of both on each body; True where every ratio reaches the target."""
    try:
        import trimesh  # noqa: F401
    except ImportError:
        raise LibraryMissing(
            "trimesh, which this is compared with, comes with the packages of the tests:"
            " `python3 manage.py test --collect-only -q` installs them."
        ) from None
    reached = True
    with tempfile.TemporaryDirectory() as folder:
        for name, build in BODIES:
            path = Path(folder) / "body.stl"
            write_stl(path, *build(triangles))
            ratio = _compare(name, path, runs, say)
            reached &= ratio >= TARGET_RATIO
    return reached


def _compare(name, path, runs, say):
    began = time.perf_counter()
    ours = by_us(path)
    first_s = time.perf_counter() - began
    theirs = by_library(path)
    same = ours[:3] == theirs[:3] and np.allclose(ours[3], theirs[3], atol=1e-6)
    times = {by_us: [], by_library: []}
    for _run in range(runs):
        # In turns, so that whatever else the machine does falls on both.
        for way in (by_us, by_library):
            began = time.perf_counter()
            way(path)
            times[way].append(time.perf_counter() - began)
    own_s, other_s = statistics.median(times[by_us]), statistics.median(times[by_library])
    say(f"{name}, {ours[0]:,} triangles, {path.stat().st_size / 2**20:.0f} MiB, {runs} runs")
    say(f"  here     {own_s * 1000:8.0f} ms (the first time {first_s * 1000:.0f} ms)")
    say(f"  trimesh  {other_s * 1000:8.0f} ms")
    say(f"  ratio    {other_s / own_s:8.1f}  (wanted: at least {TARGET_RATIO:.0f})")
    say(f"  answers  {'the same' if same else f'differ: {ours} and {theirs}'}")
    if not same:
        return 0.0
    return other_s / own_s
