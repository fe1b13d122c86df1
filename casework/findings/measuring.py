"""What of a case is measured, in the background, and what is kept of it?

The records of a case become a set as `measure/sets` knows it. Each step is kept in a row of its
own under the digest of everything it read, in a transaction of its own: a worker that ends in
the middle leaves whole steps, and a file sent again costs only the steps that read it.
"""

from contextlib import contextmanager
from functools import partial

from django.utils import timezone

from casework.cases.models import Case
from casework.evidence import keeping
from casework.evidence.models import Evidence
from casework.findings.in_force import limits_of
from casework.findings.scales import limits_drawn
from casework.findings.told import set_of
from casework.measure.sets.facts import facts_of
from casework.measure.sets.meshes import Meshes
from casework.measure.sets.places import poses_of
from casework.measure.sets.plan import Done, NotTold, Outcome, Planned, keys_of, run_plan
from casework.measure.sets.steps import plan_of
from casework.measure.sets.told import PARTS
from casework.measurements.models import Measurement
from casework.measurements.queries import as_facts
from casework.measurements.services import keep_measurement
from casework.previews.glb import vertices_of
from casework.previews.making import made_preview
from orders.jobs.services import finish, renew

# Scans that a picture of a design shows beside it.
SCANS_SHOWN = ("working_arch", "opposing_arch")
BEFORE = "previous_version"
PICTURES = "pictures"


def measure_case(case_id, job):
    """Measure what is not measured yet; the job ends when every step has its row."""
    case = Case.objects.select_related("order__patient").get(pk=case_id)
    measure_missing(case, progress=lambda planned: renew(job, progress=words_of(planned)))
    for evidence in case.evidence.filter(superseded_at=None).order_by("number"):
        made_preview(evidence)
    finish(job)


def measure_missing(case, *, progress=lambda planned: None):
    """Run every step that has no row under its key, in order; one row is one transaction."""
    told, keys = set_of(case)
    plan, _not_told = split(plan_of(told))
    plan += pictures_planned(case, told, plan, partial(_preview_vertices, case, keys))

    @contextmanager
    def locate(name):
        key = keys.get(name)
        if not key:
            yield None
            return
        with keeping.local_path(key) as path:
            yield path

    rows = _kept(case)

    def keep(planned, key, values):
        keep_measurement(
            case,
            evidence=None,
            method=planned.step,
            version=planned.version,
            input_digest=key,
            values=values,
        )

    def kept(planned, key):
        known = rows.get((planned.step, planned.version, key)) or _drawn(case, planned, key)
        if known is None and (known := _of_another_case(planned, key)):
            keep(planned, key, known)
        return known

    run_plan(
        plan,
        told,
        Meshes(told, locate),
        kept=kept,
        keep=lambda done: keep(done.planned, done.key, done.values),
        progress=progress,
    )


def measured(case):
    """What is known now: (told, the steps done, the steps that wait, what is not told)."""
    told, _keys = set_of(case)
    plan, not_told = split(plan_of(told))
    rows, keys = _kept(case), keys_of(plan, told)
    done, waiting = [], []
    for planned in plan:
        key = keys[planned.step, planned.subject]
        values = rows.get((planned.step, planned.version, key))
        if values is None:
            waiting.append(planned)
        else:
            done.append(Done(planned, key, values, True))
    return told, done, waiting, not_told


def pictures_planned(case, told, plan, preview_vertices=None):
    """The step that draws what a design measures, behind all others; none without a design.

    The limits in force are drawn on the scales: with others the pictures are others.
    `preview_vertices` gives the corners of a file's preview to whoever runs the step.
    """
    if not told.of_role(*PARTS):
        return []
    files = tuple(file.name for file in told.of_role(*SCANS_SHOWN, *PARTS, BEFORE))
    after = tuple((one.step, one.subject) for one in plan)
    limits = limits_of(case.order.practice, timezone.now().date())
    drawn_on = {
        file.name: limits_drawn(told.materials.get(file.material), limits)
        for file in told.of_role(*PARTS)
    }
    draw = partial(_draw, preview_vertices=preview_vertices)
    return [
        Planned(
            PICTURES, "4", "", files, draw, {"limits": drawn_on}, after, about_design=True
        )
    ]  # fmt: skip


def _draw(work, planned, preview_vertices):
    from casework.measurements.fields import fields_of
    from casework.measurements.pictures.making import pictures_of
    from casework.measurements.pictures.shown import Shown, with_lengths

    shown, before = [], {}
    for name in planned.files:
        file, mesh = work.told.file(name), work.mesh(name)
        one = Shown(name, file.role, file.sites, mesh.vertices, mesh.faces)
        if file.role == BEFORE:
            before[file.of] = one
        else:
            shown.append(one)
    poses = poses_of(work)
    straight = {one.site for one in work.told.sites if one.channel_axis is None}
    shown = with_lengths(shown, poses, straight)
    pictures = pictures_of(
        [
            {"step": step} | row
            for step, subject in planned.after
            for row in work.results[step, subject]
        ],
        shown,
        poses=poses,
        screws={
            one.site: {"screw": one.screw, "driver": one.driver}
            for one in work.told.sites
            if one.screw
        },
        limits=planned.told["limits"],
    )
    fields = fields_of(shown, before, preview_vertices, planned.told["limits"])
    return Outcome((), {"pictures": [one.as_dict() for one in pictures], "fields": fields})


def _preview_vertices(case, keys, name):
    """The corners of the preview of a file of the case, None where there can be none."""
    file = Evidence.objects.filter(case=case, storage_key=keys[name]).first()
    preview = made_preview(file) if file else None
    if preview is None:
        return None
    with keeping.opened(preview.storage_key) as stored:
        return vertices_of(stored.read())


def _drawn(case, planned, key):
    """An empty result where the pictures stand already: they are large and not read here."""
    if planned.step != PICTURES:
        return None
    rows = case.measurements.filter(method=PICTURES, input_digest=key)
    return {"results": [], "handed": {}} if rows.exists() else None


def _of_another_case(planned, key):
    """The values of a step that read the same bytes and values in another case, or None.

    A remake or a case linked to this one often begins with the same scans.
    """
    row = Measurement.objects.filter(
        evidence=None,
        method=planned.step,
        method_version=planned.version,
        input_digest=key,
    ).first()
    return row and row.values


def drawn(case):
    """What was drawn of the present design, "pictures" and "fields"; empty where it waits."""
    key = pictures_key(case)
    row = case.measurements.filter(method=PICTURES, input_digest=key).first() if key else None
    return row.values["handed"] if row else {}


def pictures_key(case):
    """The key under which the pictures of the present design are kept, "" without a design."""
    told, _keys = set_of(case)
    plan, _not_told = split(plan_of(told))
    planned = pictures_planned(case, told, plan)
    return keys_of([*plan, *planned], told).get((PICTURES, ""), "")


def words_of(planned: Planned):
    """What is being measured, for whoever waits."""
    step = planned.step.replace("_", " ")
    return f"{step}, {planned.subject}" if planned.subject else step


def split(steps):
    """The steps to run, and those for which something is missing."""
    plan, not_told = [], []
    for one in steps:
        (not_told if isinstance(one, NotTold) else plan).append(one)
    return plan, not_told


def _kept(case):
    rows = case.measurements.filter(evidence=None).exclude(method=PICTURES)
    return {(row.method, row.method_version, row.input_digest): row.values for row in rows}


def measured_fact(case):
    """The measured values of a case as a check reads them."""
    told, done, waiting, not_told = measured(case)
    return as_facts(facts_of(told, done, not_told, waiting))
