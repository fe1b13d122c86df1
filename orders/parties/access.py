"""Who may open a page: signed in, a member, in one of these roles."""

from functools import wraps

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied


def members_only(*roles):
    """Let members in, those with one of `roles` where some are named; others get 403."""

    def decorate(view):
        @wraps(view)
        def guarded(request, *args, **kwargs):
            if not request.user.is_authenticated:
                return redirect_to_login(request.get_full_path())
            if request.member is None:
                raise PermissionDenied
            if roles and not request.member.has(*roles):
                raise PermissionDenied
            return view(request, *args, **kwargs)

        return guarded

    return decorate
