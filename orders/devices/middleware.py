"""Is this browser a registered device, and is anybody at it?

Whatever a page or its script does, the time since somebody last did something is held against
the party's setting here, before any view. Reloads that pages make by themselves do not count.
"""

from urllib.parse import urlsplit

from django.contrib.auth import logout
from django.contrib.auth.models import AnonymousUser
from django.http import HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.urls import Resolver404, resolve, reverse
from django.utils import timezone
from django.utils.encoding import escape_uri_path

from orders.devices import services, sessions
from orders.devices.queries import interruption_of
from orders.devices.rules import is_locked

# What works on a locked screen, as it works for anybody who is not signed in.
OPEN = frozenset(
    "device_lock device_enter sign_in sign_out forgotten reset_asked reset_confirm".split()
)
# A larger form holds files; it is not read only to keep a few words of it.
KEPT_BYTES_MOST = 2**20


class DeviceMiddleware:
    """Sets `request.device`, and `request.locked` to the member at whose screen it locked.

    Behind a lock nobody is signed in: `request.member` is None. A session that was begun at a
    device is worth nothing without it.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        request.device, request.locked = sessions.device_of(request), None
        if request.member is not None:
            if sessions.is_bound_elsewhere(request):
                logout(request)
                request.member, request.memberships = None, []
            elif request.device is not None and (answer := self._watch(request)):
                return answer
        return self.get_response(request)

    def _watch(self, request):
        """An answer instead of the page, where the device is locked."""
        device, at = request.device, timezone.now()
        if not sessions.is_bound(request):
            sessions.bind(request, at)
        minutes = device.party.lock_after_minutes
        if is_locked(device.locked_at, device.seen_at, minutes, at):
            return self._lock(request, at)
        if sessions.is_by_pin(request):
            # A PIN stands for one membership, not for what the person is elsewhere.
            request.memberships = [request.member]
        if is_page(request) or request.method != "GET":
            services.note_use(device, at=at)
        if request.method == "POST":
            action = escape_uri_path(request.path)
            services.drop_typed(device, by=request.member, action=action)
        return None

    def _lock(self, request, at):
        device, member = request.device, request.member
        is_open = _name_of(request) in OPEN
        page = came_from(request) if is_open else page_of(request)
        if device.locked_at is None:
            services.lock_device(device, by=member, why="nobody at it", page=page, at=at)
        if not is_open and _may_be_kept(request):
            services.keep_typed(
                device,
                by=member,
                page=page,
                action=escape_uri_path(request.path),
                pairs=pairs_of(request.POST),
                at=at,
            )
        request.locked, request.member, request.memberships = member, None, []
        request.user = AnonymousUser()
        return None if is_open else _locked_answer(request)


def is_page(request):
    """Whether a person asked for a page, not a page for a piece of itself."""
    is_piece = "HX-Request" in request.headers or request.path.startswith("/api/")
    return not is_piece and request.headers.get("Sec-Fetch-Mode", "navigate") == "navigate"


def page_of(request):
    """The page a person has open: the one asked for, or the one the request came from."""
    if request.method == "GET" and is_page(request):
        return request.get_full_path()
    return came_from(request)


def came_from(request):
    """The page of ours that a request was sent from; else the start page."""
    named = request.headers.get("HX-Current-URL") or request.headers.get("Referer", "")
    parts = urlsplit(named)
    if parts.netloc != request.get_host():
        return reverse("start")
    return f"{parts.path}?{parts.query}" if parts.query else parts.path


def left_typed(request):
    """What the member had typed on this page before the device locked, or None."""
    if getattr(request, "member", None) is None or request.device is None:
        return None
    left = interruption_of(request.device, request.member, timezone.now())
    return left if left is not None and left.typed and left.page == page_of(request) else None


def pairs_of(posted):
    return [(name, text) for name, texts in posted.lists() for text in texts]


def _may_be_kept(request):
    size = request.headers.get("Content-Length", "0")
    return request.method == "POST" and size.isdigit() and int(size) <= KEPT_BYTES_MOST


def _name_of(request):
    try:
        return resolve(request.path_info).url_name
    except Resolver404:
        return ""


def _locked_answer(request):
    lock_page = reverse("device_lock")
    if is_page(request):
        return redirect(lock_page)
    if request.path.startswith("/api/"):
        return JsonResponse({"detail": "This screen is locked."}, status=401)
    return HttpResponse(status=401, headers={"HX-Redirect": lock_page})
