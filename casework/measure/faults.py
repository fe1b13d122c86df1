"""What is said about a mesh file that is refused, or accepted with a remark?

Every remark and every refusal has a stable code and the values of its sentence; the sentences
stand here in one table, so that a page, a paper and a test say the same.
"""

from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

REFUSALS = MappingProxyType(
    {
        "missing_file": ("{name} is not there. Check its path, or leave it out of the set."),
        "empty_file": (
            "{name} is empty (0 bytes). Export the scan again and look at the size of the file "
            "before sending it."
        ),
        "foreign_format": (
            "{name} is {what}, not a surface mesh that can be read here. Export the scan as "
            "STL, PLY or OBJ and send that file."
        ),
        "unknown_binary": (
            "{name} holds binary data that is not STL, PLY or OBJ. Export the scan as one of "
            "these and send that file."
        ),
        "unknown_text": (
            "{name} holds text that is not STL, PLY or OBJ; it begins with “{text}”. Export the"
            " scan as one of these and send that file."
        ),
        "cut_off": (
            "{name} is cut off: it declares {declared} {things} and holds {held}. Nothing of it"
            " was taken. Copy or export the file again and compare its size."
        ),
        "cut_off_text": (
            "{name} is cut off: the text ends in line {line}, {where}, after {held} whole "
            "triangles. Nothing of it was taken. Copy or export the file again."
        ),
        "no_triangles": (
            "{name} holds no triangles: the export is empty. Export the scan again with its "
            "surface."
        ),
        "no_area": (
            "{name} holds {count} triangles and none has an area: there is no surface to "
            "measure. Export the scan again with its surface."
        ),
        "count_is_zero": (
            "{name} declares no triangles (0) but goes on for {bytes} bytes after that. Its "
            "count is wrong: export the file again."
        ),
        "points_only": (
            "{name} holds {points} points and no surface (no triangles). Export the scan as a "
            "surface mesh, not as a point cloud."
        ),
        "not_finite": (
            "{name} holds a coordinate that is not a number (NaN or infinite): {count} in all, "
            "the first in {thing} {first}. Repair or export the file again."
        ),
        "coordinate_too_large": (
            "{name} holds a coordinate beyond any size ({value}): {count} in all, the first in "
            "{thing} {first}. Export the file again."
        ),
        "decimal_comma": (
            "{name} is written with a decimal comma instead of a point, first in line {line} "
            "(“{text}”). Export it with decimal points: the number format of the exporting "
            "computer decides this."
        ),
        "bad_number": (
            "{name}: line {line} has “{text}” where a number belongs. Export the file again."
        ),
        "bad_line": (
            "{name}: line {line} cannot be read (“{text}”); expected was {expected}. Export the"
            " file again."
        ),
        "facet_corners": (
            "{name}: the facet in line {line} does not have three corners. Export the file "
            "again as triangles."
        ),
        "index_out_of_range": (
            "{name}: {thing} {face} refers to vertex {index}, but the file has {vertices} "
            "vertices{counted}. Export the file again."
        ),
        "polygon_too_large": (
            "{name}: face {face} is a hollow polygon of {corners} corners; at most {most} can "
            "be split into triangles. Export as triangles."
        ),
        "ply_header": (
            "{name}: the PLY header cannot be read: {problem}. Export the file again."
        ),
        "ply_strips": (
            "{name} stores its surface as triangle strips, which are not read here. Export it "
            "with plain faces."
        ),
        "encoding": (
            "{name} is text in {encoding} that cannot be decoded. Export it as plain text "
            "(UTF-8) or as a binary file."
        ),
    }
)

REMARKS = MappingProxyType(
    {
        "extra_bytes": (
            "{count} extra bytes stand after the last triangle; they were not read."
        ),
        "extension_disagrees": (
            "The name ends in {extension}, but the content is {format}; it was read as "
            "{format}."
        ),
        "colour_file_missing": (
            "The file names a colour file, “{file}”, that did not come along; the geometry was "
            "read without it."
        ),
        "encoding": "The text is stored in {encoding}; it was read as that.",
        "several_solids": "The file holds {count} solids; all of them were read.",
        "no_solid_line": "The text begins without a “solid” line; it was read all the same.",
        "byte_order_reversed": (
            "The numbers are stored in reversed byte order (big-endian), which this format does"
            " not have; they were read as that."
        ),
        "polygons_split": (
            "{polygons} faces with more than three corners were split into {triangles} "
            "triangles."
        ),
        "short_faces": (
            "{count} faces have fewer than three corners and carry no surface; they were left "
            "out."
        ),
        "unused_vertices": "{count} points belong to no triangle; they were left out.",
        "lines_skipped": (
            "{count} lines hold what is not read here (first in line {line}, “{text}”); the "
            "faces were read."
        ),
        "list_name": "The corners of the faces are stored under the unusual name “{list}”.",
        "attribute_bytes": (
            "The two attribute bytes of the triangles are used, but not as colour; they were "
            "left alone."
        ),
        "duplicate_triangles": (
            "{count} duplicate triangles (stored twice) were left out of area, volume and "
            "counts."
        ),
        "degenerate_triangles": (
            "{count} triangles without area (degenerate) carry no surface."
        ),
        "inside_out": (
            "The surface is inside out (its triangles turned) in {count} of {pieces} pieces; "
            "the volume is given as for the right way out."
        ),
        "turned_triangles": "{count} triangles are turned against their neighbours.",
        "not_orientable": "The triangles cannot all be turned the same way.",
        "several_pieces": (
            "The surface is in {count} separate pieces (islands); the smallest has {smallest} "
            "triangles, the main piece {main}."
        ),
        "non_manifold_edges": "{count} edges belong to more than two triangles.",
        "open_surface": "The surface is open: {count} holes or rims, so it has no volume.",
        "nothing_left": "No triangle has an area; there is nothing to measure.",
    }
)


@dataclass(frozen=True)
class Note:
    """A remark on something accepted: its code and the values of its sentence."""

    code: str
    values: tuple[tuple[str, Any], ...] = ()

    def sentence(self) -> str:
        """Return the remark as an English sentence."""
        return REMARKS[self.code].format_map(dict(self.values))

    def as_dict(self) -> dict[str, Any]:
        """Return code, values and sentence, ready for JSON."""
        return {"code": self.code, "values": dict(self.values), "sentence": self.sentence()}


def note(code: str, **values: Any) -> Note:
    """Return the Note of this code; an unknown code or a missing value raises KeyError."""
    made = Note(code, tuple(values.items()))
    made.sentence()
    return made


class MeshUnreadable(Exception):
    """A mesh file that is refused: its code, the values of its sentence, the sentence."""

    def __init__(self, code: str, /, **values: Any):
        self.code = code
        self.values = values
        super().__init__(REFUSALS[code].format_map(values))

    def sentence(self) -> str:
        """Return the refusal as an English sentence: the file, the reason, what to do."""
        return self.args[0]

    def __reduce__(self):
        return _again, (self.code, self.values)


def _again(code: str, values: dict[str, Any]) -> MeshUnreadable:
    return MeshUnreadable(code, **values)


def excerpt(raw: bytes, most: int = 40) -> str:
    """Return the printable beginning of raw text, at most so many characters long."""
    text = raw.decode("utf-8", "replace")
    text = "".join(c if c.isprintable() else " " for c in text).strip()
    return text if len(text) <= most else text[: most - 1] + "…"
