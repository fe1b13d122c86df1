"""The shade is named per zone, with guide and light, taken before the teeth dried.

Light of 5500 to 6500 K and a wait of 14 days after whitening: teaching pages on shade selection
(read). A photograph with tab and grey card lets the colour be compared afterwards. Work of
metal alone needs no shade.
"""

from casework.checks import Check, against, against_range, ask, is_outside, note, stop
from orders.catalogue.rules import METALS

ZONES = ("cervical", "incisal")


def run(facts, limits):
    shade, prescription = facts["shade"], facts["prescription"]
    if shade is None:
        if not _is_metal_alone(prescription):
            yield stop("not_recorded")
        return
    if not shade["body"]:
        yield stop("zone_missing_body")
    for zone in ZONES:
        if not shade[zone]:
            yield ask("zone_missing", zone)
    yield from _light(shade, limits("shade_light"))
    if shade["taken_before_drying"] is None:
        yield ask("drying_not_said")
    elif not shade["taken_before_drying"]:
        yield ask("taken_dry")
    yield from _whitening(shade, limits("whitening_wait"))
    photographs = [
        file
        for file in facts["files"]
        if file["role"] == "shade_photograph" and file["state"] == "readable"
    ]
    if not photographs:
        yield ask("no_photograph")


def _is_metal_alone(prescription):
    return (
        prescription is not None
        and prescription["material_family"] in METALS
        and prescription["surface"] != "veneered"
    )


def _light(shade, usual):
    kelvin = shade["light_k"]
    if not shade["light"]:
        yield stop("no_light")
    elif kelvin is not None:
        if is_outside(kelvin, usual):
            yield ask("odd_light", **against_range(kelvin, usual))
    elif shade["light"] == "daylight":
        yield note("daylight")
    else:
        yield ask("light_not_known", light=shade["light"])


def _whitening(shade, wait):
    ended, taken = shade["whitening_ended_on"], shade["taken_on"]
    if ended is not None and (taken - ended).days < wait.value:
        yield ask("whitened", **against((taken - ended).days, wait))


CHECK = Check(
    title="The shade is recorded",
    reads=("shade", "prescription", "files"),
    limits=("shade_light", "whitening_wait"),
    run=run,
    sentences={
        "not_recorded": (
            "No shade is recorded.",
            "Write the shade note: guide, tabs per zone, light.",
        ),
        "zone_missing_body": (
            "The shade note names no tab for the body of the tooth.",
            "Name the tab.",
        ),
        "zone_missing": (
            "The shade note names no tab for the {subject} zone.",
            "Name it, or say why one shade is enough.",
        ),
        "no_light": (
            "In which light the shade was taken is not recorded.",
            "Record the light.",
        ),
        "light_not_known": (
            "The colour temperature of the light ({light}) is not known.",
            "Enter it, or say how the light was judged.",
        ),
        "odd_light": (
            "The shade was taken in light outside the range for shades.",
            "Take it again in such light, or say why it stands.",
        ),
        "daylight": (
            "The shade was taken in daylight; its colour temperature was not read.",
            "Daylight changes with hour and weather.",
        ),
        "drying_not_said": (
            "Whether the shade was taken before the teeth dried is not recorded.",
            "Answer it in the shade note, or say how it was taken.",
        ),
        "taken_dry": (
            "The shade was taken after the teeth had dried; dry teeth look lighter.",
            "Take it again first thing at a visit, or say why it stands.",
        ),
        "whitened": (
            "The shade was taken soon after whitening; it still changes.",
            "Take it again after the wait, or say why it stands.",
        ),
        "no_photograph": (
            "There is no photograph with shade tab and grey card.",
            "Send one, or say why there is none.",
        ),
    },
)
