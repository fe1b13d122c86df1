"""What do the records and files of a case tell about its meshes, as `measure/sets` knows it?"""

from collections import Counter

from casework import limits
from casework.body_forms.queries import present_forms
from casework.cases.models import Case
from casework.cases.queries import current_prescription
from casework.checks import file_words
from casework.designs.queries import current_version, parts_of
from casework.evidence import keeping
from casework.evidence.models import Evidence
from casework.evidence.rules import MESHES
from casework.measure.sets.stated_poses import LONGEST_BYTES, PosesRefused, read_stated_poses
from casework.measure.sets.told import PARTS, CaseSet, File, Site, Unit
from casework.readings.queries import pointed_of
from casework.stages import Stage

# Kind of a designed part, as its role in a set.
PART_ROLES = {"custom abutment": "abutment", "bridge": "bridge", "crown": "crown"}
SCAN_ROLES = (
    "working_arch_scan_bodies", "working_arch", "opposing_arch", "bite_scan", "second_scan",
)  # fmt: skip
# Scans whose teeth are held against those of an earlier case.
EARLIER_ROLES = ("working_arch", "opposing_arch")
JAWS = ("upper", "lower")
STATED = "stated_poses"
# Stages before the laboratory has the order: a design of before is not looked at.
BEFORE_DESIGN = (Stage.PLANNING, Stage.SCAN_CAPTURE, Stage.SCAN_PROCESSING)


def set_of(case) -> tuple[CaseSet, dict[str, str]]:
    """The set of a case, and the storage key of each of its files by name."""
    files, keys = [], {}
    for row, role, of in _scans(case):
        name = file_words(row.number)
        files.append(_file(row, name, role, of=of))
        keys[name] = row.storage_key
    files += list(_earlier_scans(case, files, keys))
    version = current_version(case) if case.stage not in BEFORE_DESIGN else None
    materials = {}
    if version is not None:
        files += _parts(case, version, keys, materials)
    told = CaseSet(
        files=tuple(files),
        sites=_sites(case, version),
        units=_units(case),
        forms=_forms(case, keys),
        materials=materials,
        opening_mm=float(limits.limit("mouth_opening").value),
        retention=_retention(case),
    )
    return told, keys


def _scans(case):
    """(row, role in the set, name of the file it belongs to) of each scan.

    A processed scan stands in place of the raw one that it was made of, whether that was
    replaced or stays current.
    """
    rows = list(_surfaces(case.evidence).filter(role__in=SCAN_ROLES))
    raws = {}
    for row in rows:
        raw = row.made_from
        is_same = raw is not None and (raw.role, raw.jaw) == (row.role, row.jaw)
        if is_same and raw.unit_factor and raw.storage_key:
            raws.setdefault(raw.pk, (raw, "raw_scan", file_words(row.number)))
    for row in rows:
        if row.pk not in raws:
            yield row, row.role, ""
    yield from raws.values()


def _earlier_scans(case, files, keys):
    """The newest scan of each jaw in an earlier case of the patient, where there is one."""
    others = Case.objects.filter(
        order__patient=case.order.patient, pk__lt=case.pk, wrong_patient_at=None
    )
    rows = _surfaces(Evidence.objects.filter(case__in=others)).filter(role__in=EARLIER_ROLES)
    for jaw in JAWS:
        mine = [file for file in files if file.role in EARLIER_ROLES and file.jaw == jaw]
        earlier = rows.filter(jaw=jaw).order_by("-case_id", "-number").first()
        if mine and earlier is not None:
            name = f"earlier scan of the {jaw} jaw"
            keys[name] = earlier.storage_key
            yield _file(earlier, name, "earlier_scan", of=mine[0].name)


def _surfaces(evidence):
    return (
        evidence.filter(superseded_at=None, state="readable", is_confirmed=True)
        .filter(format__in=MESHES)
        .exclude(unit_factor="")
        .exclude(storage_key="")
        .select_related("made_from")
        .order_by("number")
    )


def _file(row, name, role, **more):
    return File(
        name=name,
        role=role,
        sha256=row.sha256,
        jaw=row.jaw,
        sites=tuple(row.sites),
        unit_factor=float(row.unit_factor),
        **more,
    )


def _parts(case, version, keys, materials):
    files, by_kind = [], {}
    for part in parts_of(version):
        row = part.evidence
        if row is None or not row.unit_factor or part.kind not in PART_ROLES:
            continue
        name, role = file_words(row.number), PART_ROLES[part.kind]
        if part.material:
            materials[part.material.name] = _material(part.material)
        files.append(
            File(
                name=name,
                role=role,
                sha256=row.sha256,
                sites=tuple(part.sites),
                unit_factor=float(row.unit_factor),
                material=part.material.name if part.material else "",
            )
        )
        keys[name] = row.storage_key
        by_kind[part.kind, tuple(part.sites)] = name
    files += _parts_before(case, version, keys, by_kind)
    files += _check_scans(case, keys, files)
    return files


def _parts_before(case, version, keys, by_kind):
    """The same parts as they were in the version before, where their bytes differ."""
    before = case.designs.filter(number__lt=version.number, submitted_at__isnull=False)
    before = before.order_by("-number").first()
    for part in parts_of(before) if before else ():
        row, now = part.evidence, by_kind.get((part.kind, tuple(part.sites)))
        if row and row.unit_factor and row.storage_key and now:
            name = file_words(row.number)
            if name not in keys:
                keys[name] = row.storage_key
                yield _file(row, name, "previous_version", of=now)


def _check_scans(case, keys, parts):
    for row in _surfaces(case.evidence).filter(role="check_scan"):
        mine = [
            file for file in parts if file.role in PARTS and set(row.sites) <= set(file.sites)
        ]
        if row.sites and mine:
            name = file_words(row.number)
            keys[name] = row.storage_key
            yield _file(row, name, "check_scan", of=mine[0].name)


def _material(row):
    return {
        "family": row.family,
        "strength_class": row.strength_class,
        "limits": row.limits,
        "source": row.source,
    }


def _sites(case, version):
    prescription = current_prescription(case)
    recorded = case.order.patient.implants.order_by("site").values_list("site", flat=True)
    ordered = list(prescription.implant_sites if prescription else ()) or list(recorded)
    bodies = {row.site: row.component for row in _bodies(case)}
    names = _form_names(case)
    screws = {}
    for part in parts_of(version) if version else ():
        if part.kind == "retaining screw" and part.component:
            screws |= dict.fromkeys(part.sites, part.component)
    stated = _stated(case, ordered) if version else {}
    pointed = pointed_of(case)
    return tuple(
        Site(
            site=site,
            near_mm=tuple(pointed[site].place_mm) if site in pointed else None,
            stated_pose=stated.get(site),
            scan_body=names[bodies[site]] if site in bodies else "",
            screw=_lengths(screws.get(site)),
            # Before a screw is chosen, the driver of the scan body stands for it.
            driver=_lengths(getattr(screws.get(site) or bodies.get(site), "driver", None)),
        )
        for site in ordered
    )


def _stated(case, ordered):
    """The pose that the design program states for each site, or why there is none to use."""
    row = (
        case.evidence.filter(
            role=STATED, superseded_at=None, state="readable", is_confirmed=True
        )
        .exclude(storage_key="")
        .order_by("-number")
        .first()
    )
    if row is None:
        return {}
    name = file_words(row.number)
    try:
        with keeping.opened(row.storage_key) as stored:
            stated = read_stated_poses(stored.read(LONGEST_BYTES + 1))
    except PosesRefused as refused:
        return dict.fromkeys(ordered, {"because": f"The {name} cannot be read: {refused}"})
    missing = {site: {"because": f"The {name} names no pose there."} for site in ordered}
    return missing | stated


def _bodies(case):
    return case.scan_bodies.select_related("component").order_by("site")


def _form_names(case):
    """The name of each scan body's form: its number, and a site where two parts share that."""
    first = {}
    for row in _bodies(case):
        first.setdefault(row.component, row.site)
    numbers = Counter(part.part_number for part in first)
    return {
        part: part.part_number + (f", as at {site}" if numbers[part.part_number] > 1 else "")
        for part, site in first.items()
    }


def _forms(case, keys):
    """The form of each scan body: the mesh in the catalogue where it has one, else lengths."""
    names, forms = _form_names(case), {}
    meshes = present_forms([part.pk for part in names])
    for part, name in names.items():
        mesh = meshes.get(part.pk)
        if mesh is None:
            forms[name] = _lengths(part)
            continue
        file = f"The mesh of the scan body {name}"
        keys[file] = mesh.storage_key
        forms[name] = {
            "file": file,
            "sha256": mesh.sha256,
            "unit_factor": float(mesh.unit_factor),
        }
    return forms


def _lengths(component):
    """Name and dimensions of a part as numbers; words (the form of a scan body) as they are."""
    if component is None:
        return {}
    return {"name": component.part_number} | {
        key: float(value) if key.endswith(("_mm", "_deg")) else value
        for key, value in component.dimensions.items()
    }


def _units(case):
    row = current_prescription(case)
    return tuple(
        Unit(unit["tooth"], unit["kind"], unit.get("on") or "")
        for unit in (row.units if row else ())
    )


def _retention(case):
    row = current_prescription(case)
    return row.retention if row else ""
