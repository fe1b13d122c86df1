"""What do the told and the measured values of a set say, as plain values for a check?"""

MOST_LISTED = 16


def facts_of(told, done, not_told, waiting=()) -> dict:
    """Return the fact `measured`: what is told of materials, parts, sites and units; the steps
    done with their results; the steps that nothing is told for; those that still wait.
    """
    return {
        "waiting": [_about(one) for one in waiting],
        "not_told": [_about(one) | {"because": one.because} for one in not_told],
        "steps": [
            _about(one.planned) | {"is_measured": one.is_measured, "because": _because(one)}
            for one in done
        ],
        "results": [
            {"step": one.planned.step} | result | {"details": _short(result["details"])}
            for one in done
            for result in one.values["results"]
        ],
        "materials": dict(told.materials),
        "files": [
            {
                "name": file.name,
                "role": file.role,
                "sites": list(file.sites),
                "material": file.material,
                "of": file.of,
            }
            for file in told.files
        ],
        "sites": [site.site for site in told.sites],
        "expected": told.expected,
        "units": [
            {"tooth": unit.tooth, "kind": unit.kind, "stands_on": unit.stands_on}
            for unit in told.units
        ],
    }


def _short(details):
    """Details without outlines and fields: no check reads these, and facts are hashed."""
    return {
        key: value
        for key, value in details.items()
        if not isinstance(value, list) or len(value) <= MOST_LISTED
    }


def _about(one):
    return {"step": one.step, "subject": one.subject}


def _because(done):
    """Why nothing of a step could be measured; empty where something was."""
    if done.is_measured:
        return ""
    return " ".join(dict.fromkeys(one["because"] for one in done.values["results"]))
