"""A try-in screw and a sealed final screw travel with the work for every implant site.

A coated screw loses preload with each tightening (330 to 254 N over ten, Int J Implant Dent
2023, s40729-023-00473-3, abstract read): the final one comes new and sealed, the try-in is done
with another.
"""

from casework.checks import Check, stop


def run(facts, limits):
    parcel = facts["parcel"]
    packed = {line["part_id"] for line in parcel["lines"]} if parcel else set()
    at_chair = {"at practice", "tried in"}
    ready = [p for p in facts["parts"] if p["id"] in packed or p["place"] in at_chair]
    wants_try_in = facts["move"]["name"] == "dispatch_for_try_in"
    for site in facts["order"]["sites"]:
        here = [part for part in ready if site in part["sites"]]
        final = [part for part in here if part["kind"] == "retaining screw"]
        if not final:
            yield stop("no_final", site)
        elif not any(part["is_sealed"] for part in final):
            yield stop("not_sealed", site)
        if any(not part["lot"] for part in final):
            yield stop("no_lot", site)
        if wants_try_in and not any(part["kind"] == "try-in screw" for part in here):
            yield stop("no_try_in", site)


CHECK = Check(
    title="Try-in and sealed final screws are enclosed",
    reads=("parts", "parcel", "order", "move"),
    run=run,
    sentences={
        "no_final": ("No final screw for {subject} is enclosed.", "Pack a new, sealed screw."),
        "not_sealed": (
            "The final screw for {subject} is not recorded as sealed.",
            "Enclose a new one in its sealed package and record it so.",
        ),
        "no_lot": ("The screw for {subject} has no lot.", "Copy the lot from its package."),
        "no_try_in": (
            "No try-in screw for {subject} is enclosed.",
            "Pack one: the final screw is not used for the try-in.",
        ),
    },
)
