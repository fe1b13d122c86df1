"""In which membership does the person who asks act?"""

from django.contrib.auth import logout

from orders.parties.queries import memberships_of

SESSION_KEY = "membership"


class MembershipMiddleware:
    """Sets `request.member`; a person switched off is signed out at once.

    Asked afresh with every request: a session chosen for a membership that has ended since is
    over, also where the person works for another party.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        request.member, request.memberships = None, []
        if request.user.is_authenticated:
            memberships = memberships_of(request.user)
            chosen = request.session.get(SESSION_KEY)
            by_id = {member.pk: member for member in memberships}
            if not by_id or chosen is not None and chosen not in by_id:
                logout(request)
            else:
                request.memberships = memberships
                request.member = by_id.get(chosen) or memberships[0]
        return self.get_response(request)
