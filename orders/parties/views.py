"""Which pages let people sign in, look after themselves, their members and their party?"""

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.views import LoginView, LogoutView, PasswordResetConfirmView
from django.http import Http404
from django.shortcuts import redirect, render
from django.urls import reverse_lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from orders.parties import services
from orders.parties.access import members_only
from orders.parties.forms import (
    ForgottenForm,
    InviteForm,
    JoinForm,
    PartyChoiceForm,
    PartyForm,
    PasswordForm,
    ProfileForm,
    RolesForm,
    SignInForm,
)
from orders.parties.middleware import SESSION_KEY
from orders.parties.queries import members_of, memberships_of, partnerships_of
from orders.refusals import Refused
from orders.roles import Role


class SignIn(LoginView):
    """Django's own sign-in, which follows `next` only within this host."""

    template_name = "orders/parties/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def form_valid(self, form):
        response = super().form_valid(form)
        # Who comes back to a locked screen goes on as the member he or she was there.
        self.request.session.setdefault(SESSION_KEY, memberships_of(form.get_user())[0].pk)
        return response


sign_in = sensitive_post_parameters("password")(SignIn.as_view())
sign_out = LogoutView.as_view(http_method_names=["post", "options"])


class ResetConfirm(PasswordResetConfirmView):
    template_name = "orders/parties/reset_confirm.html"
    success_url = reverse_lazy("sign_in")

    def form_valid(self, form):
        messages.success(self.request, lazy("The password is changed. Sign in with it."))
        return super().form_valid(form)


reset_confirm = ResetConfirm.as_view()


@never_cache
def forgotten(request):
    """Ask for a new password. The answer is the same whoever asks."""
    form = ForgottenForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        services.ask_for_reset(form.cleaned_data["email"])
        return redirect("reset_asked")
    status = 422 if form.is_bound else 200
    return render(request, "orders/parties/forgotten.html", {"form": form}, status=status)


def reset_asked(request):
    return render(request, "orders/parties/reset_asked.html")


@require_POST
@members_only()
def choose_party(request):
    """Act for another of one's parties from here on."""
    form = PartyChoiceForm(request.POST, memberships=request.memberships)
    if not form.is_valid():
        raise Http404
    request.session[SESSION_KEY] = form.cleaned_data["membership"]
    return redirect("start")


@members_only()
def profile(request):
    """One's own name, licence number and absence."""
    member = request.member
    initial = {
        "name": member.person.name,
        "licence_number": member.person.licence_number,
        "away_until": member.away_until,
    }
    form = ProfileForm(request.POST or None, initial=initial, party=member.party)
    if request.method == "POST" and form.is_valid():
        services.change_profile(by=member, **form.cleaned_data)
        messages.success(request, _("Your particulars are saved."))
        return redirect("profile")
    status = 422 if form.is_bound else 200
    return render(request, "orders/parties/profile.html", {"form": form}, status=status)


@sensitive_post_parameters()
@members_only()
def password(request):
    """Choose another password."""
    form = PasswordForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            person = services.change_password(
                by=request.member, old=given["old"], new=given["new"]
            )
        except Refused as refused:
            return _password_page(request, form, 409, refused.sentences)
        update_session_auth_hash(request, person)
        messages.success(request, _("The password is changed; other sessions are ended."))
        return redirect("profile")
    return _password_page(request, form, 422 if form.is_bound else 200)


def _password_page(request, form, status, sentences=()):
    context = {"form": form, "sentences": sentences}
    return render(request, "orders/parties/password.html", context, status=status)


@members_only(Role.ADMINISTRATOR)
def members(request):
    """Who works here; invite somebody."""
    form = InviteForm(request.POST or None, kind=request.member.party.kind)
    if request.method == "POST" and form.is_valid():
        try:
            member = services.invite_member(by=request.member, **form.cleaned_data)
        except Refused as refused:
            return _members_page(request, form, 409, refused.sentences)
        messages.success(request, _("{name} is a member.").format(name=member.person.name))
        return redirect("members")
    return _members_page(request, form, 422 if form.is_bound else 200)


def _members_page(request, form, status, sentences=()):
    context = {
        "rows": members_of(request.member.party),
        "form": form,
        "sentences": sentences,
    }
    return render(request, "orders/parties/members.html", context, status=status)


def _member_of_own_party(request, pk):
    for row in members_of(request.member.party):
        if row.pk == pk:
            return row
    raise Http404


@members_only(Role.ADMINISTRATOR)
def member_page(request, pk):
    """One member: the roles held here, on or off."""
    row = _member_of_own_party(request, pk)
    form = RolesForm(request.POST or None, kind=row.party.kind, initial={"roles": row.roles})
    if request.method == "POST" and form.is_valid():
        try:
            services.change_roles(row, by=request.member, **form.cleaned_data)
        except Refused as refused:
            return _member_page(request, row, form, 409, refused.sentences)
        messages.success(
            request, _("The roles of {name} are saved.").format(name=row.person.name)
        )
        return redirect("members")
    return _member_page(request, row, form, 422 if form.is_bound else 200)


def _member_page(request, row, form, status, sentences=()):
    context = {"row": row, "form": form, "sentences": sentences}
    return render(request, "orders/parties/member.html", context, status=status)


@require_POST
@members_only(Role.ADMINISTRATOR)
def member_off(request, pk):
    return _switch(request, pk, services.switch_off_member, _("{name} is switched off."))


@require_POST
@members_only(Role.ADMINISTRATOR)
def member_on(request, pk):
    return _switch(request, pk, services.switch_on_member, _("{name} is a member again."))


def _switch(request, pk, service, sentence):
    row = _member_of_own_party(request, pk)
    try:
        service(row, by=request.member)
    except Refused as refused:
        form = RolesForm(kind=row.party.kind, initial={"roles": row.roles})
        return _member_page(request, row, form, 409, refused.sentences)
    messages.success(request, sentence.format(name=row.person.name))
    return redirect("members")


@members_only(Role.ADMINISTRATOR)
def party(request):
    """The party's particulars, its join code and whom it works with."""
    own = request.member.party
    initial = {name: getattr(own, name) for name in services.PARTY_FIELDS}
    form = PartyForm(request.POST or None, initial=initial, kind=own.kind, party=own)
    if request.method == "POST" and form.is_valid():
        services.change_party(by=request.member, **form.cleaned_data)
        messages.success(request, _("The particulars of the party are saved."))
        return redirect("party")
    return _party_page(request, 422 if form.is_bound else 200, form=form)


def _party_page(request, status=200, **context):
    own = request.member.party
    initial = {name: getattr(own, name) for name in services.PARTY_FIELDS}
    page = {
        "form": PartyForm(initial=initial, kind=own.kind, party=own),
        "join_form": JoinForm(),
        "rows": partnerships_of(own),
    }
    return render(request, "orders/parties/party.html", page | context, status=status)


@require_POST
@members_only(Role.ADMINISTRATOR)
def renew_code(request):
    services.renew_join_code(by=request.member)
    messages.success(request, _("The party has another join code; the one before is void."))
    return redirect("party")


@require_POST
@members_only(Role.ADMINISTRATOR)
def join(request):
    """Agree to work with the party whose code was typed."""
    form = JoinForm(request.POST)
    if not form.is_valid():
        return _party_page(request, 422, join_form=form)
    try:
        other = services.join_party(by=request.member, **form.cleaned_data)
    except Refused as refused:
        return _party_page(request, 409, join_form=form, sentences=refused.sentences)
    messages.success(request, _("You work with {party} from here on.").format(party=other.name))
    return redirect("party")
