"""What do the documents of the command `measure` look like, as JSON Schema (draft 2020-12)?"""

from casework.exchange.measure_result import FORMAT as RESULT
from casework.exchange.measure_result import OUTCOMES
from casework.exchange.measure_result import VERSION as RESULT_VERSION
from casework.exchange.measure_set import FACTORS
from casework.exchange.measure_set import FORMAT as SET
from casework.exchange.measure_set import VERSION as SET_VERSION
from casework.measure.sets.told import RETENTIONS, ROLES, UNIT_KINDS

DRAFT = "https://json-schema.org/draft/2020-12/schema"
TEXT, NUMBER, LIST = {"type": "string"}, {"type": "number"}, {"type": "array"}
POINT = {"type": "array", "items": NUMBER, "minItems": 3, "maxItems": 3}
SITE = {"type": "string", "pattern": "^[1-4][1-8]$", "description": "ISO 3950"}
LENGTH = {"type": "number", "exclusiveMinimum": 0}


def _rows(properties, required, more=False):
    return {
        "type": "array",
        "items": {
            "type": "object",
            "properties": properties,
            "required": list(required),
            "additionalProperties": more,
        },
    }


def _lengths(*names):
    return {name: LENGTH for name in names}


def _roles():
    told = "; ".join(f"{role}: {what}" for role, what in ROLES.items())
    return {"enum": list(ROLES), "description": told}


UNIT = {"enum": list(FACTORS), "description": "unit of the numbers in the file; default mm"}

SET_SCHEMA = {
    "$schema": DRAFT,
    "title": "What is measured together: meshes with roles, sites, parts and units",
    "type": "object",
    "required": ["format", "version", "files"],
    "additionalProperties": False,
    "properties": {
        "format": {"const": SET},
        "version": {"const": SET_VERSION},
        "about": TEXT,
        "unit": UNIT,
        "retention": {
            "enum": list(RETENTIONS),
            "description": "how the restorations are held; a cemented one that is closed over"
            " its abutment is no part of the screw's way",
        },
        "opening_mm": {
            **LENGTH,
            "description": "distance between the edges of the front teeth at the patient's"
            " widest opening",
        },
        "files": _rows(
            {
                "path": {**TEXT, "description": "from the folder of the set"},
                "name": {**TEXT, "description": "by which it is called; default its path"},
                "role": _roles(),
                "jaw": {"enum": ["upper", "lower", "both"]},
                "sites": {"type": "array", "items": SITE},
                "unit": UNIT,
                "transform": {
                    "type": "array",
                    "items": {"type": "array", "items": NUMBER, "minItems": 4, "maxItems": 4},
                    "minItems": 4,
                    "maxItems": 4,
                    "description": "motion in mm from the file's frame into that of the scans",
                },
                "of": {**TEXT, "description": "name of the file that this one belongs to"},
                "material": {**TEXT, "description": "name in `materials`"},
                "about": TEXT,
            },
            ("path", "role"),
        ),
        "sites": _rows(
            {
                "site": SITE,
                "scan_body": {**TEXT, "description": "name in `scan_bodies`"},
                "near_mm": {**POINT, "description": "a point near the scan body: the click"},
                "stated_pose": {
                    "type": "object",
                    "description": "the pose that the design program states",
                    "properties": {"origin_mm": POINT, "axis": POINT, "toward": POINT},
                    "required": ["origin_mm", "axis"],
                },
                "screw": {**TEXT, "description": "name in `screws`"},
                "driver": {**TEXT, "description": "name in `drivers`"},
                "channel_axis": {**POINT, "description": "direction of a turned channel"},
                "margin_mm": {
                    "type": "array",
                    "items": POINT,
                    "minItems": 8,
                    "description": "margin line, where it is told rather than found",
                },
                "about": TEXT,
            },
            ("site",),
        ),
        "units": _rows(
            {
                "tooth": SITE,
                "kind": {"enum": list(UNIT_KINDS)},
                "stands_on": {"enum": ["implant", "tooth"]},
            },
            ("tooth", "kind"),
        ),
        "scan_bodies": {
            **_rows(
                {
                    "name": TEXT,
                    "form": TEXT,
                    "path": {**TEXT, "description": "mesh of the form: origin at the centre of"
                             " the platform, z along the axis toward the crown, mm"},
                    "unit": UNIT,
                },
                ("name",),
                more=True,
            ),
            "description": "reference forms: `form` with its dimensions, or `path` of a mesh",
        },
        "screws": _rows(
            {
                "name": TEXT,
                **_lengths(
                    "head_diameter_mm", "head_height_mm", "shank_diameter_mm", "length_mm"
                ),
                "seat_height_mm": {
                    **NUMBER,
                    "description": "height of the seat of the head above the platform",
                },
            },
            ("name",),
            more=True,
        ),
        "drivers": _rows(
            {
                "name": TEXT,
                **_lengths(
                    "tip_diameter_mm", "tip_length_mm", "shank_diameter_mm",
                    "shank_length_mm", "length_mm", "handle_diameter_mm",
                ),
            },
            ("name",),
            more=True,
        ),
        "materials": {
            **_rows({"name": TEXT, "family": TEXT, "source": TEXT}, ("name",), more=True),
            "description": "family, strength_class and `limits` of its own instructions",
        },
        "limits": {
            "type": "object",
            "description": "a limit's name (docs/limits.md) to the value that counts instead",
            "additionalProperties": {
                "type": "object",
                "properties": {"value": LENGTH, "source": TEXT},
                "required": ["value", "source"],
            },
        },
    },
}  # fmt: skip

MEASURED = {
    "type": "object",
    "properties": {
        "quantity": TEXT,
        "subject": TEXT,
        "value": {"type": ["number", "null"], "description": "null: not known, see `because`"},
        "unit": TEXT,
        "place_mm": {
            "anyOf": [POINT, {"type": "null"}],
            "description": "in the frame of the scans",
        },
        "uncertainty": {
            "type": ["number", "null"],
            "description": "half the width of the 95 % interval about this mesh, in `unit`",
        },
        "method": TEXT,
        "because": TEXT,
        "details": {"type": "object"},
    },
    "required": ["quantity", "subject", "value", "unit", "place_mm", "uncertainty", "method",
                 "because", "details"],
    "additionalProperties": False,
}  # fmt: skip

RESULT_SCHEMA = {
    "$schema": DRAFT,
    "title": "What was measured and found",
    "type": "object",
    "required": ["format", "version", "command", "exit_code", "outcome", "inputs", "steps",
                 "results", "findings", "not_told", "problems", "caution"],
    "additionalProperties": False,
    "properties": {
        "format": {"const": RESULT},
        "version": {"const": RESULT_VERSION},
        "command": {"enum": ["scan", "scan-bodies", "design", "change"]},
        "exit_code": {"enum": list(OUTCOMES)},
        "outcome": {"enum": list(OUTCOMES.values())},
        "inputs": {
            **_rows(
                {"name": TEXT, "role": TEXT, "sha256": TEXT, "size_bytes": {"type": "integer"},
                 "unit_factor": NUMBER},
                ("name", "sha256"),
            ),
            "description": "the files that were read",
        },
        "steps": {
            **_rows(
                {"step": TEXT, "subject": TEXT, "version": TEXT, "key": TEXT,
                 "is_measured": {"type": "boolean"}},
                ("step", "subject", "version", "key", "is_measured"),
            ),
            "description": "what was computed; `key` is the digest of everything it read",
        },
        "results": {"type": "array", "items": MEASURED},
        "findings": _rows(
            {
                "weight": {"enum": ["stop", "ask", "note"]},
                **{name: TEXT for name in ("check", "code", "subject", "says", "do", "measured",
                                           "limit", "source")},
            },
            ("weight", "check", "code", "subject", "says", "do"),
        ),
        "not_told": {
            **_rows({"step": TEXT, "subject": TEXT, "because": TEXT},
                    ("step", "subject", "because")),
            "description": "what was not tried, because the set gives no ground for it",
        },
        "problems": {
            "type": "array",
            "items": TEXT,
            "description": "why something could not be read or measured",
        },
        "caution": TEXT,
    },
}  # fmt: skip
