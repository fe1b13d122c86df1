"""What do the abutments measure: margin, post, shoulder, walls, room to the opposing jaw?"""

import numpy as np

from casework.measure.margins import measure_post
from casework.measure.posts import Post, find_post
from casework.measure.sets.places import ARCH, SITES, poses_of, sides_of
from casework.measure.sets.plan import Outcome, Planned
from casework.measure.walls import abutment_walls, opposing_room

VERSION = "3"


def plan(told):
    for file in told.of_role("abutment"):
        for site in file.sites:
            margin = told.site(site).margin_mm if told.site(site) else None
            yield Planned(
                "abutment", VERSION, site, (file.name,), _run,
                {"margin_mm": margin}, (SITES, ARCH), about_design=True,
            )  # fmt: skip
            for opposing in told.of_role("opposing_arch")[:1]:
                yield Planned(
                    "abutment_room", VERSION, site, (file.name, opposing.name), _room,
                    {"margin_mm": margin}, (SITES,), about_design=True,
                )  # fmt: skip


def post_at(work, site) -> Post | None:
    """The post of the abutment at a site; None where the set has no abutment there."""
    file = next((one for one in work.told.of_role("abutment") if site in one.sites), None)
    if file is None:
        return None
    told, pose = work.told.site(site), poses_of(work).get(site)
    margin = None if told is None or told.margin_mm is None else np.array(told.margin_mm)

    def find(mesh):
        return find_post(mesh.vertices, mesh.faces, pose, margin)

    return work.meshes.derived(file.name, ("post", site, pose is not None), find)


def _room(work, planned):
    opposing, site = work.mesh(planned.files[1]), planned.subject
    room = opposing_room(post_at(work, site), site, opposing.vertices, opposing.faces)
    return Outcome((room,))


def _run(work, planned):
    site = planned.subject
    post = post_at(work, site)
    return Outcome(
        (
            *measure_post(post, site, poses_of(work).get(site)),
            *abutment_walls(post, site, sides_of(work, site)),
        )
    )
