"""How does a written set become what is told, and what is wrong with one that cannot be read?

The format is `casework-measure-set`, version 1; its schema is in `schema.py`. Everything wrong
is collected: a set is refused once, with a sentence for each thing.
"""

import math
import re
from pathlib import Path
from typing import Any

from casework.measure.sets.told import RETENTIONS, ROLES, UNIT_KINDS, CaseSet, File, Site, Unit
from casework.measure.units import UNITS_MM

FORMAT, VERSION = "casework-measure-set", 1
FACTORS = dict(UNITS_MM) | {"mm": 1.0, "m": 1000.0, "in": 25.4, "cm": 10.0, "µm": 0.001}
_SITE = re.compile(r"[1-4][1-8]")
_OF = ("raw_scan", "earlier_scan", "previous_version", "check_scan")


class SetRefused(Exception):
    """The set cannot be read; `sentences` say what is wrong with it and what to do."""

    def __init__(self, sentences):
        self.sentences = tuple(sentences)
        super().__init__(" ".join(self.sentences))


class _Reader:
    """Takes values out of a document and remembers what was wrong with them."""

    def __init__(self):
        self.wrong = []

    def say(self, sentence):
        self.wrong.append(sentence)

    def rows(self, document, key):
        rows = document.get(key, [])
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            self.say(f"`{key}` must be a list of objects.")
            return []
        return rows

    def known_keys(self, row, where, known):
        for key in sorted(set(row) - set(known)):
            self.say(f"{where}: `{key}` is not known; known are {', '.join(known)}.")

    def text(self, row, key, where, default="", among=None):
        value = row.get(key, default)
        if not isinstance(value, str):
            self.say(f"{where}: `{key}` must be text.")
            return default
        if among is not None and value and value not in among:
            self.say(f"{where}: `{key}` is “{value}”; it must be one of {', '.join(among)}.")
            return default
        return value

    def number(self, row, key, where, default=None, *, positive=True):
        value = row.get(key, default)
        if value is None:
            return default
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        if not is_number or not math.isfinite(value) or (positive and value <= 0):
            what = "a number above 0" if positive else "a number"
            self.say(f"{where}: `{key}` must be {what}.")
            return default
        return float(value)

    def point(self, row, key, where, *, needed=False, direction=False):
        value = row.get(key)
        if value is None and not needed:
            return None
        point = _numbers(value, 3)
        if point is None or (direction and not math.hypot(*point) > 0):
            what = "three numbers that are not all 0" if direction else "three numbers"
            self.say(f"{where}: `{key}` must be {what}.")
            return None
        return point

    def sites(self, row, where):
        value = row.get("sites", [])
        if not isinstance(value, list) or not all(
            isinstance(site, str) and _SITE.fullmatch(site) for site in value
        ):
            self.say(f'{where}: `sites` must be a list of ISO 3950 numbers as text, as "45".')
            return ()
        return tuple(value)


def read_set(document: Any, folder: Path) -> tuple[CaseSet, dict[str, Path]]:
    """Return what is told and the path of each file by name; raises SetRefused."""
    if not isinstance(document, dict):
        raise SetRefused(["The set must be a JSON object."])
    if document.get("format") != FORMAT or document.get("version") != VERSION:
        raise SetRefused([f"The set must say `format`: “{FORMAT}” and `version`: {VERSION}."])
    read = _Reader()
    known = (
        "format version about unit opening_mm files sites units scan_bodies screws drivers"
        " materials limits retention"
    )
    read.known_keys(document, "The set", known.split())
    unit = read.text(document, "unit", "The set", "mm", FACTORS)
    files, paths = _files(read, document, folder, unit)
    named = {kind: _named(read, document, kind) for kind in ("screws", "drivers", "materials")}
    forms = _forms(read, document, folder, unit, paths)
    told = CaseSet(
        files=files,
        sites=_sites(read, document, forms, named),
        units=_units(read, document),
        forms=forms,
        materials=named["materials"],
        limits=_limits(read, document),
        opening_mm=read.number(document, "opening_mm", "The set"),
        retention=read.text(document, "retention", "The set", "", RETENTIONS),
    )
    _refer(read, told)
    if read.wrong:
        raise SetRefused(read.wrong)
    return told, paths


def _files(read, document, folder, unit):
    files, paths = [], {}
    for place, row in enumerate(read.rows(document, "files"), 1):
        where = f"File {place}"
        keys = "name path role jaw sites unit transform of material about"
        read.known_keys(row, where, keys.split())
        path = read.text(row, "path", where)
        name = read.text(row, "name", where) or path
        if not path:
            read.say(f"{where}: `path` is missing.")
        if name in paths:
            read.say(f"{where}: a file is called “{name}” already; give it another `name`.")
        role = read.text(row, "role", where, "", ROLES)
        if not row.get("role"):
            read.say(f"{where}: `role` is missing; it is one of {', '.join(ROLES)}.")
        paths[name] = folder / path
        files.append(
            File(
                name=name,
                role=role,
                jaw=read.text(row, "jaw", where, "", ("upper", "lower", "both")),
                sites=read.sites(row, where),
                unit_factor=FACTORS[read.text(row, "unit", where, unit, FACTORS)],
                transform=_transform(read, row, where),
                of=read.text(row, "of", where),
                material=read.text(row, "material", where),
            )
        )
    return tuple(files), paths


def _transform(read, row, where):
    value = row.get("transform")
    if value is None:
        return None
    rows = [_numbers(one, 4) for one in value] if isinstance(value, list) else []
    if len(rows) != 4 or None in rows or rows[3] != (0.0, 0.0, 0.0, 1.0):
        read.say(
            f"{where}: `transform` must be four rows of four numbers, the last 0, 0, 0, 1."
        )
        return None
    turn = [row[:3] for row in rows[:3]]
    product = [[sum(a * b for a, b in zip(x, y, strict=True)) for y in turn] for x in turn]
    off = max(abs(product[i][j] - (i == j)) for i in range(3) for j in range(3))
    if off > 1e-3 or _determinant(turn) < 0:
        read.say(
            f"{where}: `transform` must be a motion (a turn and a shift); it stretches or"
            " mirrors. Give a unit as `unit`."
        )
        return None
    return tuple(rows)


def _determinant(m):
    return (
        m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1])
        - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0])
        + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0])
    )


def _named(read, document, kind):
    found = {}
    for place, row in enumerate(read.rows(document, kind), 1):
        where = f"`{kind}` {place}"
        name = read.text(row, "name", where)
        if not name or name in found:
            read.say(f"{where}: `name` is missing or used twice.")
        for key in row:
            if key.endswith(("_mm", "_deg")):
                read.number(row, key, where, positive=key != "seat_height_mm")
        found[name] = {key: value for key, value in row.items() if key != "name"}
    return found


def _forms(read, document, folder, unit, paths):
    forms = _named(read, document, "scan_bodies")
    for name, row in forms.items():
        if "path" in row:
            row["unit_factor"] = FACTORS[
                read.text(row, "unit", f"Scan body “{name}”", unit, FACTORS)
            ]
            paths[f"scan body {name}"] = folder / str(row.pop("path"))
            row.pop("unit", None)
            row["file"] = f"scan body {name}"
    return forms


def _sites(read, document, forms, named):
    sites, seen = [], set()
    keys = (
        "site scan_body near_mm stated_pose screw driver channel_axis margin_mm about".split()
    )
    for place, row in enumerate(read.rows(document, "sites"), 1):
        where = f"Site {place}"
        read.known_keys(row, where, keys)
        site = read.text(row, "site", where)
        if not _SITE.fullmatch(site):
            read.say(f'{where}: `site` must be an ISO 3950 number as text, as "45".')
        if site in seen:
            read.say(f"{where}: the site {site} stands there twice.")
        seen.add(site)
        form = read.text(row, "scan_body", where, "", forms)
        sites.append(
            Site(
                site=site,
                scan_body=form,
                near_mm=read.point(row, "near_mm", where),
                stated_pose=_stated(read, row, where),
                screw=_part(read, row, "screw", where, named["screws"]),
                driver=_part(read, row, "driver", where, named["drivers"]),
                channel_axis=read.point(row, "channel_axis", where, direction=True),
                margin_mm=_margin(read, row, where),
            )
        )
    return tuple(sites)


def _part(read, row, kind, where, parts):
    name = read.text(row, kind, where)
    if not name:
        return {}
    if name not in parts:
        read.say(
            f"{where}: the {kind} “{name}” is not listed; add it to `{kind}s` with its"
            " dimensions, or leave it out."
        )
        return {}
    return parts[name] | {"name": name}


def _stated(read, row, where):
    pose = row.get("stated_pose")
    if pose is None:
        return None
    if not isinstance(pose, dict):
        read.say(f"{where}: `stated_pose` must have `origin_mm` and `axis`.")
        return None
    within = f"{where}, stated pose"
    origin = read.point(pose, "origin_mm", within, needed=True)
    axis = read.point(pose, "axis", within, needed=True, direction=True)
    toward = read.point(pose, "toward", within, direction=True)
    return {"origin_mm": origin, "axis": axis, "toward": toward}


def _margin(read, row, where):
    value = row.get("margin_mm")
    if value is None:
        return None
    points = [_numbers(one, 3) for one in value] if isinstance(value, list) else []
    if len(points) < 8 or None in points:
        read.say(f"{where}: `margin_mm` must be a list of at least 8 points.")
        return None
    return tuple(points)


def _units(read, document):
    units = []
    for place, row in enumerate(read.rows(document, "units"), 1):
        where = f"Unit {place}"
        read.known_keys(row, where, ("tooth", "kind", "stands_on"))
        tooth = read.text(row, "tooth", where)
        if not _SITE.fullmatch(tooth):
            read.say(f'{where}: `tooth` must be an ISO 3950 number as text, as "46".')
        kind = read.text(row, "kind", where, "", UNIT_KINDS)
        if not row.get("kind"):
            read.say(f"{where}: `kind` is missing; it is one of {', '.join(UNIT_KINDS)}.")
        on = read.text(row, "stands_on", where, "", ("implant", "tooth"))
        units.append(Unit(tooth, kind, on))
    return tuple(units)


def _limits(read, document):
    limits = document.get("limits", {})
    if not isinstance(limits, dict):
        read.say("`limits` must be an object from a limit's name to value and source.")
        return {}
    for name, row in limits.items():
        if not isinstance(row, dict):
            read.say(f"Limit “{name}”: must have `value` and `source`.")
            continue
        read.number(row, "value", f"Limit “{name}”")
        if not read.text(row, "source", f"Limit “{name}”"):
            read.say(f"Limit “{name}”: say in `source` where the value comes from.")
    return limits


def _refer(read, told):
    """What a set names must be in it."""
    for file in told.files:
        if file.role in _OF and told.file(file.of) is None:
            read.say(
                f"File “{file.name}”: `of` must name the file of the set that it belongs to;"
                f" “{file.of}” is none."
            )
        if file.material and file.material not in told.materials:
            read.say(f"File “{file.name}”: the material “{file.material}” is not listed.")
    if not told.files:
        read.say("The set names no file; add at least one to `files`.")


def _numbers(value, count):
    if not isinstance(value, list | tuple) or len(value) != count:
        return None
    if not all(isinstance(x, int | float) and not isinstance(x, bool) for x in value):
        return None
    point = tuple(float(x) for x in value)
    return point if all(math.isfinite(x) for x in point) else None
