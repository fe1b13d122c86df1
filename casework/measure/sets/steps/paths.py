"""Which way does a bridge slide onto its abutments, and what is in the way?"""

from casework.measure.posts import WALL
from casework.measure.relations import Wall, insertion_path, post_taper
from casework.measure.sets.places import ARCH, SITES, poses_of
from casework.measure.sets.plan import Outcome, Planned
from casework.measure.sets.steps.abutments import post_at
from casework.measure.sets.steps.restorations import abutments_under, margin_of

VERSION = "1"


def plan(told):
    for file in told.of_role("bridge", "crown"):
        under = abutments_under(told, file)
        if under:
            names = tuple(dict.fromkeys(one.name for one in under.values()))
            yield Planned(
                "path", VERSION, "-".join(under), names, _run,
                {"margins": [margin_of(told, site) for site in under], "sites": list(under)},
                (SITES, ARCH), about_design=True,
            )  # fmt: skip


def _run(work, planned):
    walls = [_wall(work, site) for site in planned.told["sites"]]
    results = [post_taper(wall) for wall in walls]
    return Outcome((*results, *insertion_path(walls, poses_of(work))))


def _wall(work, site):
    post = post_at(work, site)
    faces = post.faces_of(WALL) if post.is_found else []
    return Wall.of(site, post.nearest.vertices, post.nearest.faces[faces])
