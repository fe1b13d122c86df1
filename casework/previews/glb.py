"""How is a mesh written as glTF 2.0 in one file, small enough for a phone?

The container and its JSON are those of the glTF 2.0 specification (ISO/IEC 12113:2022); places
are 16-bit steps across the box of the mesh, as the extension KHR_mesh_quantization allows.
Nothing about a person, a file or a program is written into it.
"""

import json
import struct

import numpy as np

MAGIC, VERSION, JSON, BINARY = b"glTF", 2, 0x4E4F534A, 0x004E4942
UNSIGNED_BYTE, UNSIGNED_SHORT, UNSIGNED_INT = 5121, 5123, 5125
ARRAY, ELEMENT = 34962, 34963
STEPS = 65535


def glb_of(vertices: np.ndarray, faces: np.ndarray, colours: np.ndarray | None = None) -> bytes:
    """Return vertices (m, 3) in mm, faces (n, 3) and sRGB colours (m, 3) uint8 as one file.

    The unit of the file is the millimetre, as that of every frame here; a place is off by at
    most half a step, 1/131,070 of the longest side of the box.
    """
    low = vertices.min(axis=0)
    side_mm = float(max((vertices - low).max(), 1e-6))
    steps = np.round((vertices - low) / side_mm * STEPS).astype(np.uint16)
    places = np.zeros((len(vertices), 4), np.uint16)
    places[:, :3] = steps
    is_short = len(vertices) <= STEPS
    corners = faces.astype(np.uint16 if is_short else np.uint32)
    views = [
        _View(corners.tobytes(), ELEMENT, None),
        _View(places.tobytes(), ARRAY, 8),
    ]
    accessors = [
        _accessor(0, UNSIGNED_SHORT if is_short else UNSIGNED_INT, faces.size, "SCALAR"),
        _accessor(1, UNSIGNED_SHORT, len(vertices), "VEC3", normalized=True)
        | {
            "min": steps.min(axis=0).tolist(),
            "max": steps.max(axis=0).tolist(),
        },
    ]
    attributes = {"POSITION": 1}
    if colours is not None:
        rows = np.full((len(vertices), 4), 255, np.uint8)
        rows[:, :3] = _linear(colours)
        views.append(_View(rows.tobytes(), ARRAY, 4))
        accessors.append(_accessor(2, UNSIGNED_BYTE, len(vertices), "VEC4", normalized=True))
        attributes["COLOR_0"] = 2
    return _file(
        {
            "asset": {"version": "2.0"},
            "extensionsUsed": ["KHR_mesh_quantization"],
            "extensionsRequired": ["KHR_mesh_quantization"],
            "scene": 0,
            "scenes": [{"nodes": [0]}],
            "nodes": [{"mesh": 0, "translation": low.tolist(), "scale": [side_mm] * 3}],
            "meshes": [{"primitives": [{"attributes": attributes, "indices": 0}]}],
            "accessors": accessors,
        },
        views,
    )


def vertices_of(data: bytes) -> np.ndarray:
    """Return the vertices (m, 3) in mm of a file that `glb_of` wrote, in their order."""
    length = struct.unpack_from("<I", data, 12)[0]
    told = json.loads(data[20 : 20 + length])
    node, accessor = told["nodes"][0], told["accessors"][1]
    view = told["bufferViews"][accessor["bufferView"]]
    start = 20 + length + 8 + view["byteOffset"]
    steps = np.frombuffer(data, np.uint16, 4 * accessor["count"], start).reshape(-1, 4)[:, :3]
    return steps / STEPS * np.array(node["scale"]) + np.array(node["translation"])


class _View:
    """Bytes of one kind, and how far apart two of them lie where it must be said."""

    def __init__(self, data, target, stride):
        self.data, self.target, self.stride = data, target, stride

    def told(self, offset):
        stride = {"byteStride": self.stride} if self.stride else {}
        return {
            "buffer": 0,
            "byteOffset": offset,
            "byteLength": len(self.data),
            "target": self.target,
        } | stride


def _accessor(view, component, count, kind, **more):
    return {"bufferView": view, "componentType": component, "count": count, "type": kind} | more


def _linear(colours):
    """sRGB as linear light (IEC 61966-2-1), which is what glTF's colours are in."""
    share = np.arange(256) / 255
    low = share / 12.92
    table = np.where(share <= 0.04045, low, ((share + 0.055) / 1.055) ** 2.4)
    return np.round(255 * table).astype(np.uint8)[colours]


def _file(told, views):
    binary, rows = b"", []
    for view in views:
        rows.append(view.told(len(binary)))
        binary += view.data + bytes(-len(view.data) % 4)
    told |= {"bufferViews": rows, "buffers": [{"byteLength": len(binary)}]}
    text = json.dumps(told, separators=(",", ":")).encode()
    text += b" " * (-len(text) % 4)
    length = 12 + 8 + len(text) + 8 + len(binary)
    return b"".join(
        [
            struct.pack("<4sII", MAGIC, VERSION, length),
            struct.pack("<II", len(text), JSON) + text,
            struct.pack("<II", len(binary), BINARY) + binary,
        ]
    )
