"""Does a shade note say how the shade was taken, and name tabs that the guide has?"""

from collections.abc import Iterable, Mapping
from datetime import date

ZONES = ("cervical", "body", "incisal")
LIGHTS = ("daylight", "daylight lamp", "lamp of the room", "lamp of the chair")
# Plausible colour temperatures of light; a lamp outside is a typing error.
LIGHT_LEAST_K, LIGHT_MOST_K = 1500, 12000


def objections_to_shade(
    note: Mapping, tabs: Iterable[str], today: date
) -> tuple[tuple[str, str], ...]:
    """Field and sentence for whatever in the note cannot be; empty where nothing is."""
    tabs, found = tuple(tabs), []
    for zone in ZONES:
        tab = note.get(zone)
        if tab and tab not in tabs:
            found.append((zone, f"The guide has no tab '{tab}'. It has: {', '.join(tabs)}."))
    if not note.get("body"):
        found.append(("body", "Name at least the tab of the body of the tooth."))
    if not note.get("light"):
        found.append(("light", "Say in which light the shade was taken."))
    for field in ("taken_on", "whitening_ended_on"):
        day = note.get(field)
        if day and day > today:
            found.append((field, f"{day.isoformat()} is still to come. Correct the day."))
    if note.get("taken_on") is None:
        found.append(("taken_on", "Name the day the shade was taken."))
    kelvin = note.get("light_k")
    if kelvin is not None and not LIGHT_LEAST_K <= kelvin <= LIGHT_MOST_K:
        found.append(
            (
                "light_k",
                f"Light lies between {LIGHT_LEAST_K} and {LIGHT_MOST_K} K, not {kelvin}.",
            )
        )
    return tuple(found)


def read_tabs(text: str) -> tuple[str, ...]:
    """The tabs of a guide typed with commas or on lines, each once, in the order typed."""
    typed = [" ".join(tab.split()) for tab in text.replace("\n", ",").split(",")]
    return tuple(dict.fromkeys(tab for tab in typed if tab))
