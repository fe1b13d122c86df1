"""What is measured on the meshes of the command line, and does anything stand against it?

Needs no database. Exit code 0: nothing found; 1: findings; 2: something could not be read or
measured, whatever else was found.
"""

import hashlib
import json
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from casework.exchange import measure_result, measure_schemas, measure_set
from casework.measure.scan_bodies.forms import form_from_text
from casework.measure.sets.meshes import Meshes
from casework.measure.sets.plan import NotTold, run_plan
from casework.measure.sets.steps import plan_of
from casework.measure.sets.told import PARTS, SCANS, CaseSet, File, Site

EXAMPLES = Path(__file__).resolve().parents[3] / "fixtures" / "measure"


class Command(BaseCommand):
    help = "Measure meshes: scan, scan-bodies, design, change. No database is needed."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("--schema", action="store_true", help="print the schemas and stop")
        parts = parser.add_subparsers(dest="command")
        part = parts.add_parser("scan", help="one surface: is it sound, dense, in millimetres?")
        part.add_argument("file", type=Path)
        part.add_argument("--role", choices=[*SCANS, *PARTS], default="working_arch")
        part = parts.add_parser("scan-bodies", help="find the scan bodies in a scan")
        part.add_argument("file", metavar="scan", type=Path)
        part.add_argument("--reference", action="append", type=Path, default=[])
        part.add_argument("--form", action="append", default=[])
        part.add_argument("--near", action="append", default=[], metavar="X,Y,Z")
        part.add_argument("--expect", type=int, help="how many there must be")
        part = parts.add_parser("design", help="everything a set gives ground for")
        part.add_argument("file", metavar="set", type=Path)
        part = parts.add_parser("change", help="what differs between two surfaces")
        part.add_argument("before", type=Path)
        part.add_argument("after", type=Path)
        for part in parts.choices.values():
            part.add_argument("--json", action="store_true", help="the result as JSON")
        for name in ("scan", "scan-bodies", "change"):
            parts.choices[name].add_argument(
                "--unit", choices=list(measure_set.FACTORS), default="mm"
            )

    def handle(self, *args, command, schema, **options):
        if schema:
            self.stdout.write(json.dumps(schemas(), indent=2, ensure_ascii=False))
            return
        if command is None:
            raise CommandError("Say what to measure: scan, scan-bodies, design or change.")
        as_json = options["json"]
        try:
            told, paths, steps = TOLD[command](options)
        except measure_set.SetRefused as refused:
            result = measure_result.refused(command, *refused.sentences)
        else:
            result = measured(command, told, paths, steps)
        if as_json:
            self.stdout.write(json.dumps(result, indent=2, ensure_ascii=False))
        else:
            self.stdout.write(measure_result.as_text(result))
        raise SystemExit(result["exit_code"])


def schemas():
    """Both schemas, and an example of each."""
    read = {
        name: json.loads((EXAMPLES / f"{name}.json").read_text()) for name in ("set", "result")
    }
    return {
        "set": {"schema": measure_schemas.SET_SCHEMA, "example": read["set"]},
        "result": {"schema": measure_schemas.RESULT_SCHEMA, "example": read["result"]},
    }


def measured(command, told, paths, steps):
    """Run the plan of what is told and judge it."""
    told, inputs = _with_digests(told, paths)

    @contextmanager
    def locate(name):
        yield paths.get(name)

    plan, not_told = [], []
    for one in plan_of(told):
        if steps is None or one.step in steps:
            (not_told if isinstance(one, NotTold) else plan).append(one)
    done = run_plan(plan, told, Meshes(told, locate))
    return measure_result.of_steps(command, told, inputs, done, not_told)


def _with_digests(told, paths):
    files, inputs = [], []
    for file in told.files:
        path = paths[file.name]
        sha256 = _sha256(path) if path.is_file() else ""
        files.append(replace(file, sha256=sha256))
        inputs.append(
            {
                "name": file.name,
                "role": file.role,
                "sha256": sha256,
                "size_bytes": path.stat().st_size if sha256 else 0,
                "unit_factor": file.unit_factor,
            }
        )
    return replace(told, files=tuple(files)), inputs


def _sha256(path):
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _scan(options):
    file = _file(options["file"], options, options["role"])
    return CaseSet(files=(file,)), {file.name: options["file"]}, ("scan",)


def _scan_bodies(options):
    file = _file(options["file"], options, "working_arch_scan_bodies")
    paths, forms = {file.name: options["file"]}, {}
    for path in options["reference"]:
        paths[f"scan body {path.name}"] = path
        forms[path.name] = {"file": f"scan body {path.name}", "unit_factor": file.unit_factor}
    for place, text in enumerate(options["form"], 1):
        try:
            forms[f"form {place}"] = form_from_text(text).as_dict()
        except ValueError as wrong:
            raise measure_set.SetRefused([f"--form “{text}”: {wrong}"]) from None
    if not forms:
        raise measure_set.SetRefused(
            ["Name the scan body: --reference with its mesh, or --form with its dimensions."]
        )
    sites = tuple(
        Site(f"point {place}", near_mm=_point(text))
        for place, text in enumerate(options["near"], 1)
    )
    told = CaseSet(files=(file,), forms=forms, sites=sites, expected=options["expect"])
    return told, paths, ("scan_bodies",)


def _point(text):
    try:
        x, y, z = (float(part) for part in text.split(","))
    except ValueError:
        raise measure_set.SetRefused(
            [f"--near “{text}”: give a point as three numbers, as 12.5,-3,7."]
        ) from None
    return x, y, z


def _design(options):
    path = options["file"]
    try:
        document = json.loads(path.read_text(encoding="utf-8-sig"))
    except FileNotFoundError:
        raise measure_set.SetRefused([f"{path.name} is not there. Check its path."]) from None
    except (OSError, ValueError) as problem:
        raise measure_set.SetRefused(
            [f"{path.name} cannot be read as JSON: {problem}."]
        ) from None
    told, paths = measure_set.read_set(document, path.parent)
    return told, paths, None


def _change(options):
    before, after = options["before"], options["after"]
    same = before.name == after.name
    new = _file(after, options, "working_arch")
    old = _file(before, options, "previous_version")
    old = replace(old, of=new.name, name=f"before {old.name}" if same else old.name)
    return CaseSet(files=(old, new)), {old.name: before, new.name: after}, ("versions",)


def _file(path, options, role):
    return File(path.name, role, unit_factor=measure_set.FACTORS[options["unit"]])


TOLD = {"scan": _scan, "scan-bodies": _scan_bodies, "design": _design, "change": _change}
