"""What do bridges and crowns measure on their abutments: walls, ceramic room, fit?"""

import numpy as np

from casework.measure.fit import seat_fit
from casework.measure.retainers import take_apart
from casework.measure.sets.places import ARCH, SITES, occlusal_of, poses_of, sides_of
from casework.measure.sets.plan import NotTold, Outcome, Planned
from casework.measure.sets.steps.abutments import post_at
from casework.measure.walls import ceramic_room, part_walls, retainer_walls

VERSION = "3"


def plan(told):
    for file in told.of_role("bridge", "crown"):
        under = abutments_under(told, file)
        if under:
            files = (file.name, *dict.fromkeys(one.name for one in under.values()))
            yield Planned(
                "restoration", VERSION, file.name, files, _seated,
                {"sites": file.sites, "margins": [margin_of(told, site) for site in under]},
                (SITES, ARCH), about_design=True,
            )  # fmt: skip
        else:
            yield Planned(
                "restoration", VERSION, file.name, (file.name,), _alone,
                {"sites": file.sites}, (SITES, ARCH), about_design=True,
            )  # fmt: skip
        for site in retainers_of(told, file):
            if file.role == "bridge" and site not in under and under:
                yield NotTold(
                    "restoration", site,
                    f"No abutment is named for the retainer at ISO {site} of {file.name}: its"
                    " fit and its walls are not measured.",
                    about_design=True,
                )  # fmt: skip


def margin_of(told, site):
    return told.site(site).margin_mm if told.site(site) else None


def retainers_of(told, file):
    """The sites of a restoration that stand on something, by its units where these are told."""
    held = [unit.tooth for unit in told.units if unit.kind != "pontic"]
    return tuple(site for site in file.sites if site in held or (not held and told.site(site)))


def abutments_under(told, file):
    """The abutment's file at each site of a restoration that has one."""
    abutments = told.of_role("abutment")
    return {site: one for one in abutments for site in one.sites if site in file.sites}


def _seated(work, planned):
    mesh = work.mesh(planned.subject)
    under = abutments_under(work.told, work.told.file(planned.subject))
    whole = take_apart(mesh.vertices, mesh.faces, {site: post_at(work, site) for site in under})
    return Outcome(tuple(one for site in under for one in _over(work, whole, site)))


def _over(work, whole, site):
    sides = sides_of(work, site)
    return [
        *retainer_walls(whole, site, sides),
        *ceramic_room(whole, site, sides),
        *seat_fit(whole, site),
    ]


def _alone(work, planned):
    mesh, sites = work.mesh(planned.subject), planned.told["sites"]
    poses = poses_of(work)
    implant = next((poses[site] for site in sites if site in poses), None)
    axis = implant.axis if implant is not None else occlusal_of(work)
    subject = sites[0] if len(sites) == 1 else planned.subject
    if axis is None:
        axis = _least_extent(mesh.vertices)
    return Outcome(
        tuple(
            part_walls(
                mesh.vertices, mesh.faces, subject, axis, sides_of(work, sites[0]), implant
            )
        )
    )


def _least_extent(vertices):
    """Some direction where none is known: only the names of regions depend on it."""
    centred = vertices - vertices.mean(axis=0)
    return np.linalg.svd(centred.T @ centred)[0][:, 2]
