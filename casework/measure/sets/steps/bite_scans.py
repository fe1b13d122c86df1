"""Do the jaws lie as the bite scan recorded them?"""

from casework.measure.bite_scans import bite_scan_agreement
from casework.measure.sets.places import working_scans
from casework.measure.sets.plan import Outcome, Planned

VERSION = "3"


def plan(told):
    working, opposing = working_scans(told), told.of_role("opposing_arch")
    for file in told.of_role("bite_scan"):
        if working and opposing:
            names = (file.name, working[0].name, opposing[0].name)
            yield Planned("bite_scan", VERSION, file.name, names, _run)


def _run(work, planned):
    bite, *jaws = (work.mesh(name) for name in planned.files)
    named = {
        name: (mesh.vertices, mesh.faces)
        for name, mesh in zip(planned.files[1:], jaws, strict=True)
    }
    return Outcome(tuple(bite_scan_agreement(bite.vertices, bite.faces, named)))
