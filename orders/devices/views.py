"""Which pages look after shared computers, lock them, and let people step in?"""

from urllib.parse import urlsplit

from django.contrib import messages
from django.contrib.auth.views import redirect_to_login
from django.http import Http404, HttpResponse, HttpResponseRedirect, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from orders.devices import services, sessions
from orders.devices.forms import EnterForm, LockTimeForm, PinForm, RegisterForm
from orders.devices.middleware import pairs_of
from orders.devices.queries import devices_of, interruption_of, members_by_pin, pin_of
from orders.parties.access import members_only
from orders.parties.services import change_party
from orders.refusals import PasswordWrong, Refused
from orders.roles import Role

WHY_LOCKED = {"switch": "to switch", "idle": "nobody at it"}


@sensitive_post_parameters("password")
@members_only(Role.ADMINISTRATOR)
def devices(request):
    """The party's shared computers; register the one in front."""
    form = RegisterForm(request.POST or None)
    if request.method != "POST":
        return _devices_page(request, form=form)
    if request.device is not None:
        said = _("This computer is registered already, as {name}.")
        sentences = [said.format(name=request.device.name)]
        return _devices_page(request, 409, form=form, sentences=sentences)
    if not form.is_valid():
        return _devices_page(request, 422, form=form)
    try:
        device, secret = services.register_device(by=request.member, **form.cleaned_data)
    except Refused as refused:
        sentences = _beside_password(form, refused)
        return _devices_page(request, 409, form=form, sentences=sentences)
    said = _("This computer is registered as {name}. Whoever set a PIN steps in here by it.")
    messages.success(request, said.format(name=device.name))
    response = redirect("devices")
    sessions.remember_device(response, secret)
    return response


def _devices_page(request, status=200, **context):
    party = request.member.party
    minutes = {"lock_after_minutes": party.lock_after_minutes}
    page = {"rows": devices_of(party), "lock_form": LockTimeForm(initial=minutes)}
    return render(request, "orders/devices/devices.html", page | context, status=status)


def _beside_password(form, refused):
    """What a refusal says above the form; about the password it is said beside the field."""
    if not isinstance(refused, PasswordWrong):
        return refused.sentences
    form.add_error("password", " ".join(refused.sentences))
    return ()


@require_POST
@members_only(Role.ADMINISTRATOR)
def lock_time(request):
    """After how long the party's shared computers lock by themselves."""
    form = LockTimeForm(request.POST)
    if not form.is_valid():
        return _devices_page(request, 422, form=RegisterForm(), lock_form=form)
    change_party(by=request.member, **form.cleaned_data)
    messages.success(request, _("The time is saved; it holds from here on."))
    return redirect("devices")


@require_POST
@members_only(Role.ADMINISTRATOR)
def withdraw(request, pk):
    device = devices_of(request.member.party).filter(pk=pk).first()
    if device is None:
        raise Http404
    services.withdraw_device(device, by=request.member)
    messages.success(request, _("{name} is withdrawn.").format(name=device.name))
    return redirect("devices")


def lock(request):
    """The locked screen; pressed, it locks and keeps what was typed on the page in front."""
    member = request.member or request.locked
    if member is None:
        return redirect_to_login(reverse("start"))
    if request.device is None:
        return redirect("start")
    if request.method == "POST":
        _lock(request, member)
        return redirect("device_lock")
    if request.locked is None:
        return redirect("start")
    return _lock_page(request)


def _lock(request, member):
    sent, page = request.POST, request.POST.get("page", "")
    why = WHY_LOCKED.get(sent.get("why"), "by hand")
    services.lock_device(request.device, by=member, why=why, page=page)
    services.keep_typed(
        request.device,
        by=member,
        page=page,
        action=sent.get("action", ""),
        pairs=pairs_of(QueryDict(sent.get("typed", "").encode())),
    )


def _lock_page(request, form=None, status=200, sentences=()):
    members, waiting = members_by_pin(request.device)
    form = form or EnterForm(members=members, initial={"member": request.locked.pk})
    context = {
        "form": form,
        "members": members,
        "waiting": waiting,
        "sentences": sentences,
    }
    return render(request, "orders/devices/lock.html", context, status=status)


@sensitive_post_parameters("pin")
@require_POST
def enter(request):
    """Step in at a locked screen by a PIN."""
    if request.locked is None:
        return redirect("start" if request.member else "sign_in")
    members, _waiting = members_by_pin(request.device)
    form = EnterForm(request.POST, members=members)
    if not form.is_valid():
        return _lock_page(request, form, 422)
    member, entered = form.cleaned_data["member"], form.cleaned_data["pin"]
    if sessions.waits(request, member):
        said = _("Signing in waits here after too many wrong passwords; so does the PIN.")
        return _lock_page(request, form, 429, [said])
    try:
        services.enter_by_pin(request.device, member, pin=entered, after=request.locked)
    except Refused as refused:
        return _lock_page(request, form, 409, refused.sentences)
    sessions.hand_over(request, member)
    return redirect("device_back")


@members_only()
def back(request):
    """The page the member had open before the lock; pressed, what was kept is thrown away."""
    if request.device is None:
        return redirect("start")
    left = interruption_of(request.device, request.member, timezone.now())
    if request.method == "POST":
        services.drop_typed(request.device, by=request.member)
    if left is None or not _leads_on(left.page):
        return redirect("start")
    return HttpResponseRedirect(left.page)


def _leads_on(page):
    """Whether it is a page of ours, and not the way back itself."""
    is_ours = url_has_allowed_host_and_scheme(page, allowed_hosts=None)
    return is_ours and urlsplit(page).path != reverse("device_back")


@require_POST
@members_only()
def here(request):
    """Somebody is at the page; that is noted before any view."""
    return HttpResponse(status=204)


@sensitive_post_parameters()
@members_only()
def pin(request):
    """One's own PIN at the shared computers of the party."""
    form = PinForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            services.set_pin(by=request.member, password=given["password"], pin=given["pin"])
        except Refused as refused:
            return _pin_page(request, form, 409, _beside_password(form, refused))
        messages.success(request, _("Your PIN is set."))
        return redirect("profile")
    return _pin_page(request, form, 422 if form.is_bound else 200)


def _pin_page(request, form, status, sentences=()):
    context = {"form": form, "is_set": pin_of(request.member) is not None}
    context["sentences"] = sentences
    return render(request, "orders/devices/pin.html", context, status=status)


@require_POST
@members_only()
def remove_pin(request):
    services.remove_pin(by=request.member)
    messages.success(request, _("You step in by password alone."))
    return redirect("profile")
