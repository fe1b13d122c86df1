"""How is a file, or what became of an upload, written as JSON?"""

from casework.evidence.queries import download_for, is_own
from casework.evidence.rules import label_of
from orders.jobs.queries import pending


def file_as_json(evidence, desk):
    """One file as the member sees it: the own party's name for it, or code-site-role."""
    bytes_had = download_for(desk, evidence)
    return {
        "number": evidence.number,
        "name": bytes_had.name if bytes_had else "",
        "role": evidence.role,
        "role_label": label_of(evidence.role),
        "jaw": evidence.jaw,
        "sites": evidence.sites,
        "is_confirmed": evidence.is_confirmed,
        "format": evidence.format,
        "size_bytes": bytes_had.size_bytes if bytes_had else None,
        "sha256": bytes_had.sha256 if bytes_had else None,
        "taken_on": evidence.taken_on,
        "received_at": evidence.received_at,
        "state": evidence.state,
        "problem": evidence.problem,
        "unit_factor": evidence.unit_factor,
        "is_own": is_own(desk, evidence),
    }


def files_as_json(rows, desk):
    """Files with what the background still does about each."""
    rows = list(rows)
    jobs = pending("evidence.inspect", [row.pk for row in rows])
    return [file_as_json(row, desk) | {"is_waiting": row.pk in jobs} for row in rows]


def outcome_as_json(outcome):
    """What became of one file of an upload."""
    evidence = outcome.evidence
    return {
        "name": outcome.name,
        "outcome": (
            "refused" if evidence is None else "was there" if outcome.was_there else "taken"
        ),
        "sentences": outcome.sentences,
        "number": evidence.number if evidence else None,
        "format": evidence.format if evidence else None,
        "role": evidence.role if evidence else None,
        "role_label": label_of(evidence.role) if evidence else None,
        "jaw": evidence.jaw if evidence else None,
        "sites": evidence.sites if evidence else None,
        "sha256": evidence.sha256 if evidence else None,
        "size_bytes": evidence.size_bytes if evidence else None,
    }
