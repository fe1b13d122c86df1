"""Is the record of an implant complete and plausible, and does it agree with the teeth?"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from orders.objections import ASK, STOP, Objection, in_words, objection

# What is seen of the soft tissue over an implant.
SOFT_TISSUE = ("healthy", "inflamed", "not judged")

SENTENCES = {
    "system_unknown": (
        "The system of the implant at the {where} is not recorded.",
        "Name it, from the catalogue or as its report says.",
    ),
    "part_unknown": (
        "{name} of the implant at the {where} is not recorded.",
        "Add it from the implant's label or report.",
    ),
    "lot_unknown": (
        "Neither lot nor identifier of the implant at the {where} is known.",
        "Say how the implant was identified.",
    ),
    "placed_on_unknown": (
        "The day the implant at the {where} was placed is not recorded.",
        "Add it; healing time is counted from it.",
    ),
    "placed_in_future": (
        "The implant at the {where} is recorded as placed on {day}, which is still to come.",
        "Correct the day.",
    ),
    "placed_before_birth": (
        "The implant at the {where} was placed on {day}, says its record: before the birth.",
        "Correct the day.",
    ),
    "implausible": (
        "{name} of the implant at the {where} is {measured}; usual are {limit}.",
        "Check whether the entry or its decimal point is right.",
    ),
    "platform_wider": (
        "The platform at the {where} ({platform} mm) differs from the body ({body} mm) by more"
        " than {limit}.",
        "Check that the two figures were not exchanged.",
    ),
    "tooth_standing": (
        "A tooth is recorded as standing at the {where}, where an implant is recorded.",
        "Correct the teeth or the site of the implant.",
    ),
    "site_twice": (
        "Two implants are recorded at the {where}.",
        "One site holds one implant: correct the site of one of them.",
    ),
}

NAMES = {
    "connection": "The connection",
    "platform": "The platform",
    "platform_diameter_mm": "The platform diameter",
    "body_diameter_mm": "The body diameter",
    "length_mm": "The length",
}


@dataclass(frozen=True, slots=True)
class Usual:
    """Between which figures a dimension usually lies, and who says so."""

    low: Decimal
    high: Decimal
    unit: str = "mm"
    source: str = "common practice, no source"


# Handed in by whoever keeps limits; these stand where nobody does. A catalogue row wins.
USUAL = {
    "body_diameter_mm": Usual(Decimal("2.5"), Decimal("7.0")),
    "platform_diameter_mm": Usual(Decimal("2.5"), Decimal("8.0")),
    "length_mm": Usual(Decimal("4.0"), Decimal("20.0")),
}
PLATFORM_BODY_DIFFERENCE_MM = Decimal("2.5")


def missing_from(implant: Mapping) -> tuple[Objection, ...]:
    """What the record of an implant lacks before anything can be built on it."""
    site, found = implant["site"], []
    if not implant.get("system"):
        found.append(_at(site, "system_unknown", STOP, "system"))
    for field, name in NAMES.items():
        if implant.get(field) in (None, ""):
            found.append(_at(site, "part_unknown", STOP, field, name=name))
    known = implant.get("lot") or implant.get("identifier")
    if not known and not implant.get("identified_how"):
        found.append(_at(site, "lot_unknown", ASK, "identified_how"))
    if implant.get("placed_on") is None:
        found.append(_at(site, "placed_on_unknown", STOP, "placed_on"))
    return tuple(found)


def implausible(
    implant: Mapping,
    *,
    today: date,
    present: Iterable[str] = (),
    birth_date: date | None = None,
    usual: Mapping[str, Usual] = USUAL,
) -> tuple[Objection, ...]:
    """What in the record of an implant cannot be, or is so unusual that it is asked about."""
    site = implant["site"]
    found = [*_odd_dimensions(implant, usual)]
    placed_on = implant.get("placed_on")
    for code, is_so in (
        ("placed_in_future", placed_on and placed_on > today),
        ("placed_before_birth", placed_on and birth_date and placed_on < birth_date),
    ):
        if is_so:
            found.append(_at(site, code, STOP, "placed_on", day=placed_on.isoformat()))
    if site in frozenset(present):
        found.append(_at(site, "tooth_standing", STOP, "site"))
    return tuple(found)


def sites_named_twice(implants: Iterable[Mapping]) -> tuple[Objection, ...]:
    """One site holds one implant."""
    sites = [implant["site"] for implant in implants]
    twice = sorted({site for site in sites if sites.count(site) > 1})
    return tuple(_at(site, "site_twice", STOP, "site") for site in twice)


def _at(site, code, weight, field, **values):
    return objection(
        SENTENCES, code, weight, subject=site, field=field, where=in_words(site), **values
    )


def _odd_dimensions(implant, usual):
    for field, span in usual.items():
        value = implant.get(field)
        if value is None or span.low <= Decimal(value) <= span.high:
            continue
        yield _at(
            implant["site"],
            "implausible",
            ASK,
            field,
            name=NAMES[field],
            measured=f"{value} {span.unit}",
            limit=f"{span.low} to {span.high} {span.unit}",
            source=span.source,
        )
    platform, body = implant.get("platform_diameter_mm"), implant.get("body_diameter_mm")
    if platform is None or body is None:
        return
    apart = abs(Decimal(platform) - Decimal(body))
    if apart > PLATFORM_BODY_DIFFERENCE_MM:
        yield _at(
            implant["site"],
            "platform_wider",
            ASK,
            "platform_diameter_mm",
            platform=str(platform),
            body=str(body),
            measured=f"{apart} mm",
            limit=f"{PLATFORM_BODY_DIFFERENCE_MM} mm",
            source="common practice, no source",
        )
