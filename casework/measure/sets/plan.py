"""Which steps measure a set, what does each read, and when does a kept result still stand?

A step reads files, told values and results of other steps. Its key is a digest of just these
and of its version: a step with a kept result under its key is not run again, so that another
file costs only what depends on it. Steps are rows of the table in `steps/`.
"""

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from casework.measure.faults import MeshUnreadable
from casework.measure.results import Measured, plain
from casework.measure.sets.meshes import Meshes
from casework.measure.sets.told import CaseSet, plain_told


@dataclass(frozen=True, slots=True)
class Planned:
    """One step of one set.

    `step` its name, `version` that of its method, `subject` what it is about; `files` the names
    of the files it reads, `told` the told values it reads, `after` the (step, subject) whose
    results it reads; `run` is called with `Work` and
    the row itself and returns `Outcome`.
    """

    step: str
    version: str
    subject: str
    files: tuple[str, ...]
    run: Callable[["Work", "Planned"], "Outcome"]
    told: Mapping[str, Any] = field(default_factory=dict)
    after: tuple[tuple[str, str], ...] = ()
    about_design: bool = False


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a step found: measured values, and plain values that later steps read."""

    results: tuple[Measured, ...]
    handed: dict = field(default_factory=dict)

    def as_dict(self) -> dict:
        return {
            "results": [one.as_dict() for one in self.results],
            "handed": plain(self.handed),
        }


@dataclass(frozen=True, slots=True)
class NotTold:
    """A step that the set gives no ground for, and what is missing."""

    step: str
    subject: str
    because: str
    about_design: bool = False


@dataclass
class Work:
    """What a running step may reach: the set, the meshes, and what steps before found."""

    told: CaseSet
    meshes: Meshes
    handed: Mapping[tuple[str, str], dict]
    results: Mapping[tuple[str, str], list[dict]] = field(default_factory=dict)

    def mesh(self, name: str):
        return self.meshes.open(name)


@dataclass(frozen=True, slots=True)
class Done:
    """The values of one step, and the key under which they stand."""

    planned: Planned
    key: str
    values: dict  # as `Outcome.as_dict`
    is_kept: bool  # taken from what was kept

    @property
    def is_measured(self) -> bool:
        """Was anything of it measured? A step without any result has nothing to measure.

        That nothing is there to be measured (`details["nothing_there"]`), as no tooth behind
        the last one, was measured too.
        """
        results = self.values["results"]
        return not results or any(
            one["value"] is not None or one["details"].get("nothing_there") for one in results
        )


def key_of(planned: Planned, told: CaseSet, keys: Mapping[tuple[str, str], str]) -> str:
    """Return the SHA-256 over everything that the step reads."""
    text = json.dumps(
        {
            "step": planned.step,
            "version": planned.version,
            "subject": planned.subject,
            "files": [told.file(name).told() for name in planned.files],
            "told": plain_told(dict(planned.told)),
            "after": [keys[one] for one in planned.after],
        },
        sort_keys=True,
        separators=(",", ":"),
    )
    return hashlib.sha256(text.encode()).hexdigest()


def keys_of(plan: Iterable[Planned], told: CaseSet) -> dict[tuple[str, str], str]:
    """Return the key of every step by (step, subject); a step comes after those it reads."""
    keys = {}
    for planned in plan:
        keys[planned.step, planned.subject] = key_of(planned, told, keys)
    return keys


def run_plan(
    plan: Iterable[Planned],
    told: CaseSet,
    meshes: Meshes,
    *,
    kept: Callable[[Planned, str], dict | None] = lambda planned, key: None,
    keep: Callable[[Done], None] = lambda done: None,
    progress: Callable[[Planned], None] = lambda planned: None,
) -> list[Done]:
    """Run every step whose result is not kept, in order, and return all results.

    A file that cannot be read makes the steps that read it say so; the others run.
    """
    plan = list(plan)
    keys = keys_of(plan, told)
    handed, results, every = {}, {}, []
    for planned in plan:
        name = (planned.step, planned.subject)
        values = kept(planned, keys[name])
        is_kept = values is not None
        if not is_kept:
            progress(planned)
            values = _run(planned, Work(told, meshes, handed, results)).as_dict()
        done = Done(planned, keys[name], values, is_kept)
        if not is_kept:
            keep(done)
        handed[name], results[name] = values["handed"], values["results"]
        every.append(done)
    return every


def _run(planned, work):
    try:
        return planned.run(work, planned)
    except MeshUnreadable as unreadable:
        return unmeasured(planned, str(unreadable))


def unmeasured(planned: Planned, because: str) -> Outcome:
    """Return the outcome of a step that could not be run, with the reason."""
    row = Measured(planned.step, planned.subject, None, "", None, None, "", because)
    return Outcome((row,))
