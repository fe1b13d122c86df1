"""Which prescriptions does an order have, and what did the practice choose last?"""

from orders.implants.queries import dentition_of, implant_facts, implants_of
from orders.prescriptions.models import Prescription
from orders.shades.queries import shade_of

# What a practice tends to choose again; a person still looks at it.
REPEATED = (
    "material",
    "material_family",
    "retention",
    "contacts",
    "occlusal_scheme",
    "emergence",
    "surface",
    "pontic_form",
    "fee",
)


def draft_of(order):
    """The draft of the order, or None."""
    return Prescription.objects.filter(order=order, state="draft").first()


def signed_of(order):
    """The signed prescription in force, or None."""
    return Prescription.objects.filter(order=order, state="signed").first()


def prescriptions_of(order):
    """All prescriptions of the order, newest first."""
    return (
        Prescription.objects.filter(order=order)
        .select_related("material", "signed_by__person")
        .order_by("-number")
    )


def last_choices(order):
    """What the practice chose in its last signed prescription; empty where there is none.

    The prescriber's own come before a colleague's.
    """
    rows = Prescription.objects.filter(
        order__practice=order.practice, signed_at__isnull=False
    ).exclude(order=order)
    own = rows.filter(signed_by=order.prescriber_id)
    last = own.order_by("-signed_at").first() or rows.order_by("-signed_at").first()
    if last is None:
        return {}
    chosen = {name: getattr(last, name) for name in REPEATED}
    chosen["site"] = next(iter(last.sites.values()), {})
    return {name: value for name, value in chosen.items() if value}


def facts_for_rules(prescription):
    """What the rules judge: the prescription, and the records it must agree with."""
    patient = prescription.order.patient
    dentition, shade = dentition_of(patient), shade_of(prescription.order)
    return {
        "facts": prescription.facts(),
        "implants": [implant_facts(implant) for implant in implants_of(patient)],
        "dentition": dentition and dentition.facts(),
        "shade": shade and shade.facts(),
    }
