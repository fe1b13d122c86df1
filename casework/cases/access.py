"""How does a page get at a case: not theirs is 404, theirs with the wrong role is 403."""

from dataclasses import dataclass

from django.core.exceptions import PermissionDenied
from django.http import Http404
from django.utils.translation import gettext as _

from casework.cases import rules
from casework.cases.models import Case
from casework.cases.queries import side_of, visible_to
from casework.cases.refusals import NotAssigned
from casework.stages import moves_from
from orders.parties.models import Membership
from orders.refusals import Refused
from orders.roles import Role


@dataclass(frozen=True)
class Desk:
    """A case as one member sees it."""

    case: Case
    member: Membership
    side: str

    @property
    def areas(self):
        return rules.areas_seen(self.side, self.member.role_set)

    def sees(self, area):
        return area in self.areas

    @property
    def seat(self):
        return self.case.parties.filter(party=self.member.party_id).first()

    def may(self, act):
        return rules.may_act(act, self.side, self.member.role_set) and rules.is_time_for(
            act, self.case.stage
        )

    def may_move(self, move):
        return rules.may_move(move, self.side, self.member.role_set)

    @property
    def moves(self):
        """The moves out of the case's stage that this member may make."""
        return tuple(move for move in moves_from(self.case.stage) if self.may_move(move))


def open_case(member, code, *, area=None, act=None):
    """The desk of `member` at the case `code`; raises Http404 or PermissionDenied."""
    case = visible_to(member).filter(order__code=code).first()
    if case is None:
        raise Http404
    desk = Desk(case, member, side_of(case, member.party))
    if area and not desk.sees(area) or not desk.areas:
        raise PermissionDenied
    if act and not rules.may_act(act, desk.side, member.role_set):
        raise PermissionDenied
    return desk


def require(case, by, act):
    """Refuse an act that is not this member's, not now, or somebody else's work by now.

    For services: called inside the transaction, after the page asked `open_case`.
    """
    side = side_of(case, by.party)
    if side is None or not rules.may_act(act, side, by.role_set):
        raise PermissionDenied
    if not rules.is_time_for(act, case.stage):
        raise Refused(
            _("The case stands at {stage}; this is not the time for it.").format(
                stage=case.stage
            )
        )
    if act in rules.ASSIGNED_WORK:
        _require_assigned(case, by, side)


def _require_assigned(case, by, side):
    row = case.parties.select_related("assigned__person").get(side=side)
    if row.assigned_id in (None, by.pk) or by.has(Role.COORDINATOR):
        return
    raise NotAssigned(
        _(
            "The case is with {name} now; nothing was saved. Copy what you typed and hand it"
            " over, or ask your coordinator to give the case back to you."
        ).format(name=row.assigned.person.name)
    )
