"""The material product and its class are named, or it is said that the design will name them.

The certificate of a lot decides the class, not the material's name; it is recorded with the lot
before the work is dispatched. Classes: ISO 6872:2015 Table 1, from memory; types: ISO 22674.
"""

from casework.checks import Check, ask, note, stop
from orders.catalogue.rules import CERAMICS, METALS


def run(facts, limits):
    prescription = facts["prescription"]
    if prescription is None:
        yield stop("no_prescription")
        return
    has_class = prescription["material_family"] in CERAMICS | METALS
    if prescription["material"] is None:
        yield note("named_at_design")
        if has_class and prescription["strength_class"] is None:
            yield ask("no_class")
        return
    product, ordered = prescription["material_class"], prescription["strength_class"]
    name = prescription["material"]
    if prescription["material_product_family"] != prescription["material_family"]:
        yield stop("other_family", product=name, family=prescription["material_family"])
    elif has_class and product is None:
        yield ask("class_not_known", product=name)
    elif has_class and ordered is not None and product < ordered:
        yield stop(
            "too_weak", product=name, measured=f"class {product}", limit=f"class {ordered}"
        )


CHECK = Check(
    title="The material is named",
    reads=("prescription",),
    run=run,
    sentences={
        "no_prescription": (
            "There is no prescription that names a material.",
            "Return the order.",
        ),
        "named_at_design": (
            "No material product is named yet.",
            "Name it in the design; its lot and certificate follow with the parts.",
        ),
        "no_class": (
            "Neither a product nor a strength class of the material is named.",
            "Ask the dentist, or say which class will be taken.",
        ),
        "class_not_known": (
            "The strength class of {product} is not in its record.",
            "Take it from the certificate and enter it, or say which class it has.",
        ),
        "other_family": (
            "{product} is not of the family prescribed ({family}).",
            "Return the order: product or family must be corrected.",
        ),
        "too_weak": (
            "{product} is of a lower class than the prescription asks for.",
            "Return the order: product or class must be corrected.",
        ),
    },
)
