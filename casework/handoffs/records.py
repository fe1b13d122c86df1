"""Do the records of a manifest still say what was handed over?"""

import json

from casework.handoffs.manifest import records_to


def digests_now(handoff):
    """Each record of the manifest with its digest then and now (None where it is gone)."""
    content = json.loads(handoff.manifest)
    rows = records_to(handoff.case, handoff.to_party.kind, handoff.from_party)
    now = {row["subject"]: row["sha256"] for row in rows}
    return [
        {
            "kind": record["kind"],
            "subject": record["subject"],
            "sha256": record["sha256"],
            "sha256_now": now.get(record["subject"]),
        }
        for record in content["records"]
    ]
