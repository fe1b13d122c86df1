"""Is a large scan read and reported fast, in bounded memory, and without a place to cache?"""

import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest
import trimesh

from casework.measure.integrity import inspect
from casework.measure.reading import read_mesh
from casework.measure.warming import warm_up
from tests import shapes
from tests.casework.measure import inputs

ROOT = Path(__file__).resolve().parents[3]


@pytest.mark.slow
@pytest.mark.parametrize(
    "body", [shapes.sheet(500), shapes.torus(around=500, across=501)], ids=["open", "closed"]
)
def test_half_a_million_triangles_at_three_times_the_speed_of_trimesh(body, tmp_path):
    path = tmp_path / "scan.stl"
    path.write_bytes(inputs.stl_binary(*body))
    warm_up()

    def ours():
        found = inspect(read_mesh(path))
        return found.is_closed, found.island_count, [list(c) for c in found.bounds_mm]

    def theirs():
        mesh = trimesh.load(path)
        return mesh.is_watertight, mesh.body_count, mesh.bounds.tolist()

    rounds = [(_timed(ours), _timed(theirs)) for _ in range(3)]

    assert all(a[1] == b[1] for a, b in rounds)
    assert min(b[0] for _, b in rounds) > 3 * min(a[0] for a, _ in rounds)


def _timed(call):
    start = time.perf_counter()
    result = call()
    return time.perf_counter() - start, result


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["binary STL", "text STL", "PLY", "text PLY", "OBJ"])
def test_reading_takes_a_few_times_the_size_of_the_file(kind, tmp_path):
    body = shapes.sheet(300)
    data = {
        "binary STL": lambda: inputs.stl_binary(*body),
        "text STL": lambda: inputs.stl_text(*body).encode(),
        "PLY": lambda: inputs.ply_binary(*body),
        "text PLY": lambda: inputs.ply_text(*body).encode(),
        "OBJ": lambda: inputs.obj_text(*body).encode(),
    }[kind]()
    path = tmp_path / "scan"
    path.write_bytes(data)
    code = (
        "import sys, resource\n"
        "from casework.measure.warming import warm_up\n"
        "from casework.measure.reading import read_mesh\n"
        "from casework.measure.integrity import inspect\n"
        "warm_up()\n"
        "peak = lambda: resource.getrusage(resource.RUSAGE_SELF).ru_maxrss\n"
        "idle = peak()\n"
        "inspect(read_mesh(sys.argv[1]))\n"
        "print((peak() - idle) * 1024)\n"
    )

    ran = _python(code, str(path))

    # the mesh itself (float64, int32) is about 24 bytes a triangle, whatever the file holds
    assert int(ran.stdout) < 6 * len(data) + 60 * 2 * 300**2


@pytest.mark.slow
def test_reading_works_where_nothing_can_be_cached(tmp_path):
    """Sources that cannot be written beside, and a home folder that is none."""
    shared = tmp_path / "sources" / "casework"
    shared.parent.mkdir()
    subprocess.run(
        ["cp", "-r", str(ROOT / "casework" / "measure"), str(tmp_path / "copy")], check=True
    )
    shared.mkdir()
    (shared / "__init__.py").write_text("")
    (tmp_path / "copy").rename(shared / "measure")
    for kept in list((shared / "measure").rglob("__pycache__")):
        shutil.rmtree(kept)
    code = (
        "import numba.core.caching as caching\n"
        "def refuse(self): raise OSError('read-only')\n"
        "for kind in caching.CacheImpl._locator_classes:\n"
        "    kind.ensure_cache_path = refuse\n"
        "from casework.measure.warming import small_files\n"
        "from casework.measure.reading import read_mesh\n"
        "from casework.measure.integrity import inspect\n"
        "print(inspect(read_mesh(small_files()[0], 'x')).volume_mm3)\n"
    )

    ran = _python(code, cwd=shared.parent)

    assert float(ran.stdout) == pytest.approx(1 / 6)
    assert not list(shared.rglob("*.nbi"))


def _python(code, *arguments, cwd=ROOT):
    environment = {**os.environ, "PYTHONPATH": str(cwd), "PYTHONDONTWRITEBYTECODE": "1"}
    return subprocess.run(
        [sys.executable, "-c", code, *arguments],
        cwd=cwd,
        env=environment,
        capture_output=True,
        text=True,
        check=True,
        timeout=300,
    )
