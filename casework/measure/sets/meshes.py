"""How are the meshes of a set opened: once, in millimetres, in the frame of the scans?"""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from contextlib import AbstractContextManager
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from casework.measure.faults import MeshUnreadable
from casework.measure.meshes import Mesh
from casework.measure.reading import read_mesh
from casework.measure.sets.told import PARTS, CaseSet, File
from casework.measure.surfaces.outward import wound_alike

OF_PARTS = ("previous_version",)
MOST_TRIANGLES_KEPT = 6_000_000  # of all open meshes together; the longest unused close first


class Meshes:
    """Opens meshes by the name of their file and keeps those used last.

    `locate(name)` is a context manager that gives the path of the file's bytes, or None where
    they are gone.
    """

    def __init__(
        self, told: CaseSet, locate: Callable[[str], AbstractContextManager[Path | None]]
    ):
        self._told, self._locate = told, locate
        self._open: OrderedDict[str, Mesh] = OrderedDict()
        self._refused: dict[str, MeshUnreadable] = {}
        self._faces: dict[str, np.ndarray] = {}
        self._derived: dict[str, dict] = {}

    def open(self, name: str) -> Mesh:
        """Return the mesh in the frame of the scans, wound as it is measured.

        Triangles turned against their neighbours are turned back, and so is a designed part
        that is inside out. Raises MeshUnreadable.
        """
        if name in self._refused:
            raise self._refused[name]
        if name not in self._open:
            file = self._told.file(name) or File(name, "")
            try:
                mesh = _moved(self._read(name, file.unit_factor), file.transform)
                self._open[name] = _wound(mesh, file.role)
                self._faces[name] = mesh.faces
            except MeshUnreadable as refused:
                self._refused[name] = refused
                raise
            self._close_unused()
        self._open.move_to_end(name)
        return self._open[name]

    def as_filed(self, name: str) -> Mesh:
        """Return the same mesh wound as its file has it."""
        return replace(self.open(name), faces=self._faces[name])

    def derived(self, name: str, key: Hashable, make: Callable[[Mesh], Any]) -> Any:
        """Return what `make` finds of an open mesh, found once and kept while it is open."""
        mesh = self.open(name)
        known = self._derived.setdefault(name, {})
        if key not in known:
            known[key] = make(mesh)
        return known[key]

    def reference(self, name: str, unit_factor: float = 1.0) -> Mesh:
        """Return the mesh of a scan body's form, as its file stands."""
        return self._read(name, unit_factor)

    def _read(self, name, unit_factor):
        with self._locate(name) as path:
            if path is None or not path.is_file():
                raise MeshUnreadable("missing_file", name=name)
            return read_mesh(path, name, unit_factor=unit_factor)

    def _close_unused(self):
        def held():
            return sum(len(mesh.faces) for mesh in self._open.values())

        while len(self._open) > 2 and held() > MOST_TRIANGLES_KEPT:
            name, _mesh = self._open.popitem(last=False)
            del self._faces[name]
            self._derived.pop(name, None)


def _wound(mesh, role):
    """The mesh as it is measured: wound alike, a designed part outward."""
    faces = wound_alike(mesh.vertices, mesh.faces, role in PARTS or role in OF_PARTS)
    return mesh if faces is mesh.faces else replace(mesh, faces=faces)


def _moved(mesh, transform):
    if transform is None:
        return mesh
    motion = np.array(transform)
    return replace(mesh, vertices=mesh.vertices @ motion[:3, :3].T + motion[:3, 3])
