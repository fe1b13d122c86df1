"""Is each scan fine, whole and quiet where it matters: at scan bodies and contacts?"""

import numpy as np

from casework.measure.regions import METHOD, Region, judge_regions
from casework.measure.sets.plan import Outcome, Planned
from casework.measure.sets.steps.room import gaps_of
from casework.measure.sets.steps.scan_bodies import SCANS, shows_bodies

AROUND_MM = 0.5  # the gum at a scan body's foot, and what little it may be displaced
CONTACT_MM = 1.5  # radius of a contact surface; adult contacts are 1 to 3 mm across
WIDTH = ("room", "width")
MARGIN_MM = 0.75  # on both sides of a margin line


def plan(told):
    for file in told.of_role(*SCANS, "working_arch"):
        after = []
        if told.forms and shows_bodies(told, file):
            after.append(("scan_bodies", file.name))
        if file.role == "working_arch" and told.sites and gaps_of(told):
            after.append(WIDTH)
        margins = _margins(told) if file.role == "working_arch" else {}
        if after or margins:
            yield Planned(
                "regions", METHOD, file.name, (file.name,), _run, {"margins": margins},
                tuple(after),
            )  # fmt: skip


def _margins(told):
    return {site.site: site.margin_mm for site in told.sites if site.margin_mm is not None}


def _run(work, planned):
    mesh = work.mesh(planned.subject)
    regions = [*_bodies(work, planned), *_contacts(work, planned), *_lines(planned)]
    return Outcome(tuple(judge_regions(mesh, regions, subject=planned.subject)))


def _bodies(work, planned):
    handed = work.handed.get(("scan_bodies", planned.subject), {})
    for row in handed.get("found", ()):
        foot = np.array(row["origin_mm"])
        ends = np.stack([foot, foot + row["height_mm"] * np.array(row["axis"])])
        name = f"scan body {row['number']}"
        yield Region(name, ends, row["reach_mm"] + AROUND_MM, "axis")


def _contacts(work, planned):
    if WIDTH not in planned.after:
        return
    for row in work.results.get(WIDTH, ()):
        if row["quantity"] == "gap_width" and row["value"] is not None:
            for number, place in enumerate(row["details"]["contacts_mm"], 1):
                name = f"contact {number} of the gap {row['subject']}"
                yield Region(name, np.array([place]), CONTACT_MM)


def _lines(planned):
    for site, margin in planned.told["margins"].items():
        closed = np.array([*margin, margin[0]], float)
        yield Region(f"margin {site}", closed, MARGIN_MM, "line")
