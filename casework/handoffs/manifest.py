"""What exactly is handed over: every file with its SHA-256, every record with its revision."""

from casework.designs.queries import current_version
from casework.stages import Side
from orders.canonical import digest_of, text_of

SCANS = frozenset(
    {
        "working_arch_scan_bodies",
        "working_arch",
        "opposing_arch",
        "bite_scan",
        "second_scan",
        "margins",
        "provisional",
    }
)
PICTURES = frozenset({"radiograph", "photograph", "shade_photograph"})


def files_to(case, side, from_party):
    """The current files of `from_party` that leave for `side`, in their order."""
    files = case.evidence.filter(superseded_at=None, state="readable").select_related("derived")
    if side == Side.MILLING_CENTRE:
        version = current_version(case)
        numbers = [p.evidence_id for p in version.parts.all() if p.evidence_id]
        return list(files.filter(pk__in=numbers).order_by("number"))
    if side == Side.LABORATORY:
        return list(files.filter(role__in=SCANS | PICTURES).order_by("number"))
    if side == Side.SCAN_CENTRE:
        return list(files.filter(role__in=SCANS, party=from_party).order_by("number"))
    own = files.filter(party=from_party).order_by("number")
    version = current_version(case)
    if version is None or from_party.kind == Side.SCAN_CENTRE:
        return list(own.exclude(role="design_part"))
    part_files = {part.evidence_id for part in version.parts.all()}
    return [file for file in own if file.role != "design_part" or file.pk in part_files]


def records_to(case, side, from_party):
    """The records that leave for `side`, each as kind, subject, revision, digest and words."""
    return [
        {
            "kind": row._meta.verbose_name,
            "subject": row.subject,
            "revision": getattr(row, "revision", 1),
            "sha256": digest_of(row.facts()),
            "says": row.facts(),
        }
        for row in _rows_to(case, side, from_party)
    ]


def _rows_to(case, side, from_party):
    if side == Side.SCAN_CENTRE:
        yield from case.scan_bodies.order_by("site")
    elif side == Side.LABORATORY:
        yield from _order_rows(case)
    elif side == Side.MILLING_CENTRE or from_party.kind == Side.MILLING_CENTRE:
        yield from case.work_parts.order_by("pk")
    elif from_party.kind == Side.LABORATORY:
        yield from case.work_parts.order_by("pk")


def _order_rows(case):
    from casework.cases.queries import current_prescription, sites_of

    sites = sites_of(case)
    patient = case.order.patient
    if prescription := current_prescription(case):
        yield prescription
    yield from patient.implants.filter(site__in=sites).order_by("site")
    for holder, name in (
        (patient, "dentition"),
        (case, "bite_note"),
        (case.order, "shade_note"),
    ):
        if row := getattr(holder, name, None):
            yield row
    yield from case.scan_bodies.order_by("site")
    yield from case.readings.order_by("pk")
    yield from case.try_ins.order_by("number")


def name_and_digest(file, to_party):
    """Name, SHA-256 and size of what `to_party` gets: the derived file unless it is theirs."""
    derived = getattr(file, "derived", None)
    if derived and file.party_id != to_party.pk:
        return derived.name, derived.sha256, derived.size_bytes
    return (derived.name if derived else f"file-{file.number}"), file.sha256, file.size_bytes


def compose(case, move, *, number, from_party, to_party, reason, standing):
    """The manifest as plain values, and the files it lists."""
    files = files_to(case, move.to_side, from_party)
    version = current_version(case)
    listed = []
    for file in files:
        name, sha256, size_bytes = name_and_digest(file, to_party)
        listed.append(
            {
                "number": file.number,
                "role": file.role,
                "jaw": file.jaw,
                "sites": file.sites,
                "name": name,
                "sha256": sha256,
                "size_bytes": size_bytes,
                "taken_on": file.taken_on,
            }
        )
    content = {
        "case": case.code,
        "move": move.name,
        "title": move.title,
        "number": number,
        "from": from_party.name,
        "to": to_party.name,
        "reason": reason,
        "files": listed,
        "records": records_to(case, move.to_side, from_party),
        "design": version
        and {"number": version.number, "sha256": version.digest, "notes": version.notes},
        "answers": [
            {
                "check": finding.check,
                "asked": finding.wrong,
                "subject": finding.subject,
                "reason": finding.answer.reason,
                "by": finding.answer.by.person.name,
            }
            for finding in standing.asks
            if finding.answer
        ],
    }
    return content, files


def text_and_digest(content):
    """Canonical text of a manifest and its SHA-256."""
    return text_of(content), digest_of(content)
