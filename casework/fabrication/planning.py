"""Which parts does the approved version ask for, and which of those made before are kept?"""

from django.utils.translation import gettext as _

from casework.cases.queries import sites_of
from casework.designs.queries import approved_version, parts_of
from casework.fabrication import rules
from casework.fabrication.models import Part
from casework.fabrication.queries import current_parts
from orders.records import save_record
from orders.refusals import Refused


def plan_parts(case, *, by, at=None):
    """Lay out what the approved version asks for. Runs in the move's transaction.

    A part that an earlier version asked for in the same way is kept with its lots; others of
    that version, unless they stay in the mouth, count as replaced.
    """
    version = approved_version(case)
    if version is None:
        raise Refused(_("No design version is approved; there is nothing to plan."))
    design_parts = list(parts_of(version))
    by_id = {part.pk: part for part in design_parts}
    wanted = rules.parts_wanted(
        [
            {
                "id": part.pk,
                "kind": part.kind,
                "sites": part.sites,
                "component": part.component_id,
            }
            for part in design_parts
        ],
        sites_of(case),
    )
    standing = list(current_parts(case))
    planned = []
    for want in wanted:
        asked = by_id.get(want.design_part)
        part = _take_kept(standing, want, asked)
        if part is None:
            part = Part(case=case, kind=want.kind, sites=list(want.sites))
            part.component_id = want.component
        part.design_part = asked
        planned.append(save_record(part, by=by, case=case.code))
    for part in standing:
        if part.kind not in rules.ENCLOSURES and part.place != rules.DELIVERED:
            part.place = rules.REPLACED
            save_record(part, by=by, case=case.code)
    return planned


def _take_kept(standing, want, asked):
    """The part that already is what is wanted, taken out of `standing`; None otherwise."""
    for part in standing:
        if (part.kind, tuple(part.sites)) == (want.kind, want.sites) and _is_alike(
            part, want, asked
        ):
            standing.remove(part)
            return part
    return None


def _is_alike(part, want, asked):
    if part.kind in rules.STOCK:
        return want.component in (None, part.component_id)
    before = part.design_part
    return (
        before is not None
        and before.evidence is not None
        and asked.evidence is not None
        and before.evidence.sha256 == asked.evidence.sha256
        and before.material_id == asked.material_id
    )
