"""By which lengths can the preview of a designed part be coloured?

The lengths are computed on the whole mesh and read at the corners of its preview, each from
the nearest corner of the whole mesh. They are kept in whole micrometres.
"""

import base64
import zlib
from collections.abc import Callable, Mapping, Sequence

import numpy as np
from scipy.spatial import cKDTree

from casework.measure.surfaces.nearest import Nearest
from casework.measurements.pictures.shown import Shown

UNKNOWN_UM = -32768
MOST_UM = 32767
CHANGE, CHANGE_REACH_MM = "change", 1.0


def fields_of(
    shown: Sequence[Shown],
    before: Mapping[str, Shown],
    preview_vertices: Callable[[str], np.ndarray | None],
    limits: Mapping[str, Mapping[str, Sequence[tuple[str, float]]]],
) -> list[dict]:
    """Return a row for every length of every part: "file", "name", "limits", the packed "um".

    `before` holds by the part's name the same part as it was in the version before: how far
    the surface lies outward of it, within `CHANGE_REACH_MM`. `preview_vertices(name)` are the
    corners (m, 3) in mm of a part's preview, None where it has none. `limits` by the name of a
    part and of a length: words and mm of those that are drawn.
    """
    rows = []
    for one in shown:
        if not one.lengths_mm and one.name not in before:
            continue
        places = preview_vertices(one.name)
        if places is None:
            continue
        nearest = cKDTree(one.vertices).query(places)[1]
        lengths = {name: np.asarray(mm)[nearest] for name, mm in one.lengths_mm.items()}
        if one.name in before:
            lengths[CHANGE] = _change_mm(places, before[one.name])
        own = limits.get(one.name, {})
        rows += [
            {"file": one.name, "name": name, "limits": own.get(name, []), "um": packed(mm)}
            for name, mm in lengths.items()
        ]
    return rows


def _change_mm(places, earlier):
    surface = Nearest(earlier.vertices, earlier.faces, CHANGE_REACH_MM)
    return surface.closest(places).signed_mm


def packed(lengths_mm: np.ndarray) -> str:
    """Return lengths (m,) as text: whole micrometres, 16 bit, little-endian, compressed."""
    known = np.isfinite(lengths_mm)
    um = np.clip(np.round(1000 * np.where(known, lengths_mm, 0.0)), -MOST_UM, MOST_UM)
    um = np.where(known, um, UNKNOWN_UM).astype("<i2")
    return base64.b64encode(zlib.compress(um.tobytes(), 6)).decode()


def unpacked(text: str) -> bytes:
    """Return the bytes of `packed`, two for each length."""
    return zlib.decompress(base64.b64decode(text))
