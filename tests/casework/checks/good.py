"""What does a case look like that lacks nothing, and what does a check find in given facts?

The case: a bridge 45-47 on implants at 45 and 47, all parts invented.
"""

from copy import deepcopy
from datetime import UTC, date, datetime
from decimal import Decimal

from casework.checks import load
from casework.limits import limit
from tests.casework.checks.measures import measured

TODAY = date(2026, 6, 1)
PLACED, SCANNED = date(2026, 1, 12), date(2026, 5, 28)
SITES = ("45", "47")


def implant(site, **changes):
    return {
        "site": site,
        "component": "IM-41-10 implant",
        "system": "Invented line",
        "connection": "conical six",
        "platform": "regular",
        "platform_diameter_mm": Decimal("4.1"),
        "body_diameter_mm": Decimal("4.1"),
        "length_mm": Decimal("10"),
        "lot": "L1",
        "identifier": "",
        "identified_how": "",
        "placed_on": PLACED,
        "placed_by": "Dr. A. Invented",
        "soft_tissue": "healthy",
        "healing_abutment_height_mm": Decimal("3.0"),
        "is_known_system": True,
        "component_source": "invented",
        "catalogue": {
            "connection": "conical six",
            "platform": "regular",
            "platform_diameter_mm": Decimal("4.1"),
            "body_diameter_mm": Decimal("4.1"),
            "length_mm": Decimal("10"),
        },
        "day_problem": "",
    } | changes


def reading(site, quantity="stability_quotient", value="72", **changes):
    return {
        "site": site,
        "quantity": quantity,
        "value": None if value is None else Decimal(value),
        "direction": "buccal",
        "held": None,
        "measured_on": date(2026, 5, 20),
        "measured_by": "Dr. A. Invented",
        "note": "",
    } | changes


def scan_body(site, **changes):
    return {
        "site": site,
        "component": "SB-8 scan body",
        "part_number": "SB-8",
        "connection": "conical six",
        "platform": "regular",
        "lot": "S1",
        "use_count": 2,
        "uses_max": 10,
        "torque_ncm": Decimal("5.0"),
        "torque_told_ncm": Decimal("5"),
        "tightened_how": "torque wrench",
        "placed_on": SCANNED,
        "radiograph_number": 6,
        "seating_reason": "",
        "seating_by": "",
        "dimensions": {"height_mm": "8", "diameter_mm": "4.5"},
    } | changes


def integrity(**changes):
    return {
        "extents_mm": [Decimal("62.1"), Decimal("45.0"), Decimal("18.2")],
        "area_mm2": Decimal("5200"),
        "hole_count": 1,
        "holes": [{"span_mm": Decimal("62.0")}],
        "island_count": 1,
        "islands": [
            {
                "area_mm2": Decimal("5200"),
                "extents_mm": [Decimal("62.1"), Decimal("45.0"), Decimal("18.2")],
            }
        ],
        "smallest_island_triangles": 90000,
        "edge_length_mm": {"median": Decimal("0.21"), "p95": Decimal("0.4"), "max": Decimal(2)},
        "is_closed": False,
        "is_inside_out": None,
        "duplicate_triangles": 0,
        "degenerate_triangles": 0,
        "turned_triangles": 0,
        "non_manifold_edges": 0,
    } | changes


def file(number, role, jaw="", sites=(), **changes):
    is_mesh = role not in ("radiograph", "photograph", "shade_photograph")
    return {
        "number": number,
        "role": role,
        "jaw": jaw,
        "sites": list(sites),
        "format": "STL" if is_mesh else "JPEG",
        "sha256": f"{number:064x}",
        "state": "readable",
        "problem": "",
        "unit_factor": "1" if is_mesh else "",
        "taken_on": SCANNED,
        "received_on": date(2026, 5, 29),
        "is_confirmed": True,
        "party_side": "practice",
        "made_from": None,
        "integrity": integrity() if is_mesh else None,
    } | changes


def design_part(kind, sites, **changes):
    made = kind in ("bridge", "crown", "custom abutment")
    closed = integrity(is_closed=True, hole_count=0, holes=[], is_inside_out=False)
    return {
        "kind": kind,
        "sites": list(sites),
        "file_number": 20 if made else None,
        "file_state": "readable" if made else None,
        "file_is_current": True if made else None,
        "sha256": "ab" * 32 if made else None,
        "unit_factor": "1" if made else None,
        "integrity": closed if made else None,
        "component": None if made else f"{kind} part",
        "component_kind": None if made else kind,
        "connection": None if made else "conical six",
        "platform": None if made else "regular",
        "material": "Invented zirconia" if made else None,
        "material_family": "zirconia" if made else None,
        "strength_class": 5 if made else None,
    } | changes


def part(number, kind, sites, **changes):
    made = kind in ("bridge", "crown", "custom abutment")
    return {
        "id": number,
        "kind": kind,
        "sites": list(sites),
        "design_part_id": number if made else None,
        "component": None if made else f"{kind} part",
        "component_kind": None if made else kind,
        "lot": "" if made else f"P{number}",
        "material": "Invented zirconia" if made else None,
        "material_lot": "Invented zirconia lot Z1" if made else None,
        "certificate": "C-1" if made else None,
        "milling_record": "mill 1, run 8" if made else "",
        "furnace_record": "",
        "made_by": "T. Bench" if made else None,
        "made_by_id": 1 if made else None,
        "made_on": date(2026, 5, 30) if made else None,
        "is_sealed": kind == "retaining screw",
        "inspected_by": "L. Lead" if made else None,
        "inspected_by_id": 2 if made else None,
        "inspected_on": TODAY if made else None,
        "disinfected_on": TODAY,
        "place": "at laboratory",
    } | changes


def screw(site, **changes):
    return {
        "site": site,
        "component": "RS-1 screw",
        "part_number": "RS-1",
        "component_kind": "retaining screw",
        "lot": "P2" if site == "45" else "P3",
        "was_new": True,
        "torque_ncm": Decimal("25.0"),
        "torque_told_ncm": Decimal("25"),
        "tightened_at": datetime(2026, 6, 1, 9, 0, tzinfo=UTC),
        "second_torque_ncm": Decimal("25.0"),
        "second_at": datetime(2026, 6, 1, 9, 10, tzinfo=UTC),
        "channel_closed_with": "PTFE and composite",
    } | changes


def visit(name, due_on, **changes):
    return {
        "name": name,
        "due_on": due_on,
        "done_on": due_on,
        "done_by": "H. Hygienist",
        "outcome": "fine",
        "bite": "yes",
        "screws_tight": "yes",
        "chipping": "no",
        "note": "",
    } | changes


def _units():
    on = {"45": "implant", "46": "", "47": "implant"}
    return [
        {"tooth": tooth, "kind": "retainer" if on[tooth] else "pontic", "on": on[tooth]}
        for tooth in on
    ]


_SITE = {
    "level": "implant",
    "engaging": False,
    "build": "abutment and restoration",
    "abutment_material": "titanium",
    "base_material": "",
}
_PRESENT = [
    *(f"1{n}" for n in range(7, 0, -1)),
    *(f"2{n}" for n in range(1, 8)),
    *(f"4{n}" for n in range(4, 0, -1)),
    *(f"3{n}" for n in range(1, 8)),
]


def _prescription():
    return {
        "number": 1,
        "units": _units(),
        "sites": {site: dict(_SITE) for site in SITES},
        "material_family": "zirconia",
        "strength_class": 5,
        "material": "Invented zirconia",
        "material_class": 5,
        "material_product_family": "zirconia",
        "material_limits": {},
        "retention": "screw",
        "margin_depth_mm": None,
        "contacts": "usual",
        "occlusal_scheme": "guided by the canine",
        "grinding": "none",
        "pontic_form": "ovate",
        "emergence": "concave",
        "surface": "glazed",
        "gum_shade_wanted": False,
        "allergies": "none known",
        "wanted_on": date(2026, 6, 22),
        "is_rush": False,
        "try_in_wanted": True,
        "look_waived": False,
        "fee": "as estimated",
        "note": "",
        "state": "draft",
        "signed": False,
    }


def _files():
    return [
        file(1, "working_arch_scan_bodies", "lower", SITES),
        file(2, "working_arch", "lower", SITES),
        file(3, "opposing_arch", "upper"),
        file(4, "bite_scan"),
        file(5, "photograph"),
        file(6, "radiograph", sites=SITES),
        file(7, "shade_photograph"),
    ]


def _design():
    return {
        "number": 2,
        "state": "draft",
        "digest": "d1" * 32,
        "digest_now": "d1" * 32,
        "signed_digest": "d1" * 32,
        "notes": "The pontic rests lightly.",
        "parts": [
            design_part("bridge", ["45", "46", "47"]),
            design_part("base", ["45"]),
            design_part("base", ["47"]),
            design_part("retaining screw", ["45"], connection="conical six"),
            design_part("retaining screw", ["47"], connection="conical six"),
        ],
    }


def _parts():
    return [
        part(1, "bridge", ["45", "46", "47"]),
        part(2, "retaining screw", ["45"]),
        part(3, "retaining screw", ["47"]),
        part(4, "try-in screw", ["45"]),
        part(5, "try-in screw", ["47"]),
        part(6, "base", ["45"]),
        part(7, "base", ["47"]),
    ]


def _parcel():
    return {
        "move": "dispatch_for_try_in",
        "courier": "Courier A",
        "tracking": "T-1",
        "expected_on": date(2026, 6, 3),
        "disinfected": True,
        "has_statement": True,
        "state": "packed",
        "arrived": True,
        "lines": [
            {
                "part_id": row["id"],
                "kind": row["kind"],
                "sites": row["sites"],
                "is_there": True,
                "is_sound": True,
            }
            for row in _parts()
        ],
    }


def _try_in():
    answers = ("seated", "one_screw_test", "screw_and_driver_clear", "blanching_fades")
    more = ("contacts", "bite", "excursions", "look", "patient_agrees")
    return {
        "number": 1,
        "on": TODAY,
        "by": "Dr. A. Invented",
        **dict.fromkeys((*answers, *more), "yes"),
        "adjustments": "",
        "needs_repolish": None,
        "note": "",
    }


def _follow_ups():
    return [
        visit("48 hours", date(2026, 6, 3)),
        visit("1 week", date(2026, 6, 8)),
        visit("6 months", date(2026, 12, 1)),
        visit("12 months", date(2027, 6, 1)),
    ]


def good(**changes):
    """Facts of a case that lacks nothing; each call makes them anew."""
    facts = {
        "today": TODAY,
        "move": {"name": "send_order", "source": "scan capture", "parts_travel": False},
        "order": {
            "code": "ABC-1234",
            "sites": list(SITES),
            "teeth": ["45", "46", "47"],
            "units": _units(),
            "pieces": [["47", "46", "45"]],
            "is_splinted": True,
            "laboratory": "Bench Four",
            "prescriber_licensed": True,
        },
        "prescription": _prescription(),
        "implants": [implant(site) for site in SITES],
        "dentition": {
            "present": list(_PRESENT),
            "prepared": [],
            "checked_on": date(2026, 5, 20),
        },
        "readings": [reading(site) for site in SITES],
        "scan_bodies": [scan_body(site) for site in SITES],
        "files": _files(),
        "bite": {
            "position": "maximum intercuspation",
            "seated": "scan bodies",
            "support_behind": True,
            "jaws_aligned": False,
            "foil_held_at": "",
            "taken_on": SCANNED,
            "note": "",
        },
        "shade": {
            "guide": "Guide of the practice",
            "cervical": "B3",
            "body": "B2",
            "incisal": "B1",
            "gum_shade": "",
            "light": "daylight lamp",
            "light_k": 5500,
            "taken_before_drying": True,
            "taken_on": SCANNED,
            "whitening_ended_on": None,
            "note": "",
        },
        "calendar": {
            "wanted_on": date(2026, 6, 22),
            "is_past": False,
            "wanted_is_working_day": True,
            "knows_holidays": True,
            "working_days_left": 15,
        },
        "design": _design(),
        "parts": _parts(),
        "parcel": _parcel(),
        "try_ins": {"due_number": 1, "is_passed": True, "rows": [_try_in()]},
        "screws": [screw(site) for site in SITES],
        "delivery": {
            "on": TODAY,
            "by": "Dr. A. Invented",
            "cement": "",
            "excess_checked": None,
            "excess_checked_how": "",
            "bite_after": "foil of 8 µm held at 44 and 34",
            "baseline_number": 8,
            "baseline_reason": "",
            "instructions_given": True,
            "implant_record_given": True,
            "note": "",
        },
        "follow_ups": _follow_ups(),
        "questions": [{"number": 1, "text": "?", "to_side": "practice", "is_open": False}],
        "conditions": [],
        "manifest": {
            "number": 1,
            "is_verified": True,
            "files": [
                {"number": 1, "name": "a.stl", "sha256": "a" * 64, "stored_sha256": "a" * 64}
            ],
            "records": [
                {"kind": "implant", "subject": "s:1", "sha256": "b", "sha256_now": "b"}
            ],
        },
        "components": [
            {
                "what": what,
                "site": site,
                "part_number": number,
                "dimensions": dimensions,
                "source": "instructions for use",
            }
            for site in SITES
            for what, number, dimensions in (
                (
                    "implant",
                    "IM-41-10",
                    {
                        "platform_diameter_mm": "4.1",
                        "body_diameter_mm": "4.1",
                        "length_mm": "10",
                    },
                ),
                ("scan body", "SB-8", {"height_mm": "8", "diameter_mm": "4.5"}),
            )
        ],
        "members": {"laboratory_technician_count": 2},
        "measured": measured(),
    }
    return deepcopy(facts) | changes


def at_chair(**changes):
    """The same case from delivery to the first-year visit: parts here, bone and gum read."""
    facts = good()
    for row in facts["parts"]:
        row["place"] = "at practice"
    days = [TODAY, *(row["done_on"] for row in facts["follow_ups"][2:])]
    facts["readings"] += [
        row
        for day in days
        for site in SITES
        for row in (
            reading(site, "bone_level_mm", "0.4", direction="mesial", measured_on=day),
            reading(site, "probing_mm", "3", direction="mesial", measured_on=day),
            reading(site, "bleeding", None, held=False, measured_on=day),
            reading(site, "mobility", None, held=False, direction="", measured_on=day),
        )
    ]
    return facts | changes


def findings(name, facts):
    """What a check finds; it reads the facts and limits it names, and has words for all."""
    check = load(name)

    def limits(wanted):
        assert wanted in check.limits, f"{name} reads a limit it does not name: {wanted}"
        return limit(wanted)

    found = list(check.run({read: facts[read] for read in check.reads}, limits))
    for one in found:
        for sentence in check.sentences[one.code]:
            words = sentence.format_map({"subject": one.subject} | one.values)
            assert words and "{" not in words, words
        assert None not in one.values.values(), one
        # As wide as the columns that keep them.
        assert len(one.code) <= 60 and len(one.subject) <= 80
        assert len(one.measured) <= 60 and len(one.limit) <= 60 and len(one.source) <= 200
    return found


def codes(name, facts):
    """The same in short: "stop missing 45"."""
    return [f"{one.weight} {one.code} {one.subject}".strip() for one in findings(name, facts)]


def said_of(name, *results, **changes):
    """What a check says of some measured values, in short."""
    return codes(name, {"measured": measured(*results, **changes)})
