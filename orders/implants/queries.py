"""What stands in a patient's jaw, as recorded?"""

from orders.implants.models import Dentition, Implant
from orders.teeth import in_arch_order


def implants_of(patient):
    """The patient's implants along the arch, with their components."""
    rows = list(Implant.objects.filter(patient=patient).select_related("component__system"))
    places = {site: place for place, site in enumerate(in_arch_order(r.site for r in rows))}
    return sorted(rows, key=lambda row: places[row.site])


def implant_at(patient, site):
    """The implant recorded at the site, or None."""
    return (
        Implant.objects.filter(patient=patient, site=site)
        .select_related("component__system")
        .first()
    )


def dentition_of(patient):
    """Which teeth the patient has, or None where nobody recorded it."""
    return Dentition.objects.filter(patient=patient).first()


def implant_facts(implant):
    """What the record says, and whether its system is known to the catalogue."""
    component = implant.component
    return {
        **implant.facts(),
        "is_known_system": bool(component and component.system_id),
    }


def known_lots(practice, *, but=None):
    """Lots and identifiers recorded for implants of the practice's patients."""
    rows = Implant.objects.filter(patient__practice=practice)
    if but is not None:
        rows = rows.exclude(pk=but)
    found = {text for row in rows.values_list("lot", "identifier") for text in row if text}
    return sorted(found)
