"""How are a mesh's triangles written as binary STL or PLY?"""

from pathlib import Path

import numpy as np

STL_FACE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
INVENTED = "synthetic mesh, invented, millimetres"


def write_stl(path, vertices, faces, header=INVENTED):
    """Write a binary STL; the header may not begin with the word of the text form."""
    text = header.encode("ascii")
    if len(text) > 80 or text.lstrip().lower().startswith(b"solid"):
        raise ValueError(
            f"The STL header {header!r} must have at most 80 ASCII characters and not begin "
            "with 'solid'."
        )
    corners = np.asarray(vertices, dtype=np.float32)[faces]
    across = np.cross(
        (corners[:, 1] - corners[:, 0]).astype(float),
        (corners[:, 2] - corners[:, 0]).astype(float),
    )
    rows = np.zeros(len(faces), dtype=STL_FACE)
    rows["normal"] = across / np.maximum(np.linalg.norm(across, axis=1), 1e-20)[:, None]
    rows["corners"] = corners
    count = np.array([len(faces)], dtype="<u4")
    Path(path).write_bytes(text.ljust(80, b"\0") + count.tobytes() + rows.tobytes())


def write_ply(path, vertices, faces, colours=None):
    """Write a binary little-endian PLY with a colour per vertex where given."""
    fields = [("place", "<f4", 3)]
    lines = [
        "ply",
        "format binary_little_endian 1.0",
        f"comment {INVENTED}",
        f"element vertex {len(vertices)}",
        *(f"property float {name}" for name in "xyz"),
    ]
    if colours is not None:
        fields.append(("colour", "u1", 3))
        lines += [f"property uchar {name}" for name in ("red", "green", "blue")]
    lines += [
        f"element face {len(faces)}",
        "property list uchar int vertex_indices",
        "end_header",
    ]
    points = np.zeros(len(vertices), dtype=fields)
    points["place"] = vertices
    if colours is not None:
        points["colour"] = colours
    rows = np.zeros(len(faces), dtype=[("count", "u1"), ("corners", "<i4", 3)])
    rows["count"], rows["corners"] = 3, faces
    head = ("\n".join(lines) + "\n").encode("ascii")
    Path(path).write_bytes(head + points.tobytes() + rows.tobytes())
