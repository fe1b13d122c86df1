"""How strong is each connector of a bridge?"""

from casework.measure.connectors import connectors, span_of
from casework.measure.results import Measured
from casework.measure.sets.places import ARCH, SITES, occlusal_of, poses_of
from casework.measure.sets.plan import NotTold, Outcome, Planned

VERSION = "1"


def plan(told):
    for file in told.of_role("bridge"):
        if len(file.sites) < 2:
            yield NotTold(
                "connectors", file.name,
                f"Name the sites of {file.name} in their order along the arch: its connectors"
                " are not measured.",
                about_design=True,
            )  # fmt: skip
            continue
        units = [(site, told.unit(site).kind if told.unit(site) else "") for site in file.sites]
        yield Planned(
            "connectors", VERSION, file.name, (file.name,), _run,
            {"sites": file.sites, "units": units}, (SITES, ARCH), about_design=True,
        )  # fmt: skip


def _run(work, planned):
    mesh = work.mesh(planned.subject)
    sites, units = planned.told["sites"], [tuple(unit) for unit in planned.told["units"]]
    found = connectors(mesh.vertices, mesh.faces, sites, poses_of(work), occlusal_of(work))
    return Outcome(tuple(_with_span(one, units) for one in found))


def _with_span(one: Measured, units):
    """Add to a connector what it bears, where the kind of every unit is told."""
    if not all(kind for _site, kind in units):
        return one
    span = span_of(units, tuple(one.subject.split("-")))
    one.details.update(
        pontics=span.pontics, is_cantilever=span.is_cantilever, region=span.region
    )
    return one
