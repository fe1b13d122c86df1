"""What does a measurement report say: what was measured on one design version, and where?

Pictures are part of what the paper says: their PNGs are frozen in its facts, as base64, under
the paper's own digest. They are drawn when the version is measured, never when the paper is
printed: a later version of the drawing, or a file that was erased, changes no paper. Together
they are at most `MOST_PICTURE_BYTES`; what would go beyond is named instead of shown. The facts
never hold the patient's name, and no picture shows a face.
"""

import base64
from dataclasses import dataclass

from casework.documents.naming import is_invented, party_facts
from casework.findings.measure_pages import OF_FILES, row_of, title_of
from casework.findings.queries import subject_words
from casework.measurements.judged import result_of
from casework.measurements.pictures.spots import spots_of
from orders.canonical import digest_of_bytes
from orders.documents import Document

MOST_PICTURE_BYTES = 3_000_000
WEIGHTS = ("stop", "ask", "note")
CAUTIONS = (
    "Every value is computed from the scans and the design, not from the mouth. ± says how"
    " well a value fits these files (95 %); how far a scan can be from the mouth comes on top.",
    "What is not known counts as not known, never as kept. Look at it before the work goes on.",
    "The instructions of the component and of the material at hand win over every limit here.",
    "The licensed clinician and the technician decide; this report decides nothing.",
)


@dataclass(frozen=True, slots=True)
class Facts:
    case: str
    practice: dict
    laboratory: dict | None
    version: int
    version_digest: str
    made_by: str
    made_at: object
    files: list
    findings: list
    scan_errors: list
    groups: list
    missing: list
    pictures: list
    left_out: list
    methods: list
    is_invented: bool
    cautions: list


DOCUMENT = Document("Measurement report", Facts, "MR")


def facts_of(
    handoff,
    version,
    *,
    results,
    findings,
    files,
    pictures,
    versions=None,
    missing=(),
    scan_errors=(),
):
    """Everything the report says of one design version, as plain values.

    results: rows of `Measured.as_dict` with their "step", in the order of measuring, the one in
    which `pictures_of` was given them. findings: rows with "weight", "subject", "says", "do",
    "measured", "limit", "source" and, where the value is of one, "region". files: rows with
    "number", "role", "jaw", "sites", "sha256", "unit". pictures: `Picture.as_dict`. versions:
    the method's version by step. missing: sentences on what could not be measured or waits.
    scan_errors: rows with "subject", "error", "source", how far a scan may be from the mouth.
    """
    spots = spots_of(results)
    found = [_finding(row, results, spots) for row in findings]
    found.sort(key=lambda row: WEIGHTS.index(row["weight"]))
    shown, left_out = _pictures(pictures)
    return Facts(
        case=handoff.case.code,
        practice=party_facts(handoff.case.order.practice),
        laboratory=party_facts(version.made_by.party),
        version=version.number,
        version_digest=version.digest,
        made_by=version.made_by.person.name,
        made_at=version.made_at,
        files=[dict(row) for row in files],
        findings=found,
        scan_errors=[dict(row, subject=subject_words(row["subject"])) for row in scan_errors],
        groups=_groups(results, spots, found),
        missing=list(missing),
        pictures=shown,
        left_out=left_out,
        methods=_methods(results, versions or {}),
        is_invented=is_invented(handoff.from_party, handoff.to_party),
        cautions=list(CAUTIONS),
    )


def _finding(row, results, spots):
    index = result_of(row, results)
    names = ("says", "do", "measured", "limit", "source")
    return {
        "weight": str(row["weight"]),
        "subject": subject_words(row["subject"]),
        "result": index,
        "place": spots[index].number if index in spots else None,
        **{name: row.get(name) or "" for name in names},
    }


def _groups(results, spots, findings):
    """The values step by step, each with the limit by which a finding judged it."""
    judged = {row["result"]: row for row in findings if row["result"] is not None}
    groups = {}
    for index, result in enumerate(results):
        row, spot, finding = row_of(result), spots.get(index), judged.get(index, {})
        groups.setdefault(result["step"], []).append(
            {
                "title": row.title,
                "subject": row.subject,
                "region": row.region,
                "value": row.value,
                "doubt": row.doubt,
                "because": row.because,
                "limit": finding.get("limit", ""),
                "source": finding.get("source", ""),
                "place": spot.number if spot else None,
                "place_mm": ", ".join(f"{x:.1f}" for x in spot.place_mm) if spot else "",
            }
        )
    return [
        {"title": title_of(step), "rows": groups[step]}
        for step in sorted(groups, key=OF_FILES.__contains__)
    ]


def _pictures(pictures):
    """The pictures as far as they may be kept, and the titles of the others."""
    shown, left_out, size = [], [], 0
    for picture in pictures:
        data = base64.b64decode(picture["png"], validate=True)
        size += len(data)
        if size > MOST_PICTURE_BYTES:
            left_out.append(picture["title"])
        else:
            shown.append(
                {
                    "title": picture["title"],
                    "alt": picture["alt"],
                    "png": picture["png"],
                    "sha256": digest_of_bytes(data),
                    "pins": list(picture["pins"]),
                    "is_wide": not shown,
                }
            )
    return shown, left_out


def _methods(results, versions):
    """How each quantity is measured, once, with the version of its step."""
    methods = {}
    for result in results:
        if result["method"]:
            methods.setdefault(
                (result["step"], result["quantity"]),
                {
                    "title": row_of(result).title,
                    "method": result["method"],
                    "version": str(versions.get(result["step"], "")),
                },
            )
    return list(methods.values())
