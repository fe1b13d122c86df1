"""What is done with a party: members, particulars, whom it works with, new passwords."""

import secrets
from datetime import timedelta

from django.conf import settings
from django.contrib.auth.tokens import default_token_generator
from django.core.exceptions import PermissionDenied
from django.core.mail import send_mail
from django.db import transaction
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode
from django.utils.translation import gettext as _

from orders.events import announce
from orders.jobs.services import enqueue, finish
from orders.parties.models import Membership, Partnership, Party, Person, ResetRequest
from orders.parties.passwords import counts_wrong_passwords, require_password
from orders.parties.queries import active_administrators, work_together
from orders.parties.rules import (
    JOIN_ALPHABET,
    JOIN_LENGTH,
    objections_to_membership,
    objections_to_partnership,
    spell_join_code,
)
from orders.refusals import Refused
from orders.roles import PartyKind, Role

# One mail with a link within this time is enough for one account.
RESET_PAUSE = timedelta(minutes=5)

PARTY_FIELDS = (
    "name",
    "address",
    "country",
    "region",
    "time_zone",
    "notation",
    "date_order",
    "shows_patient_name",
    "retention_years",
    "lock_after_minutes",
)


def invite_member(*, by, email, name, roles, licence_number="", at=None):
    """Make somebody a member; who has no account yet gets a mail to choose a password."""
    with transaction.atomic():
        party = _own_party(by)
        _refuse_if(
            objections_to_membership(
                party.kind, roles=roles, is_active=True, other_administrators=1
            )
        )
        email = Person.objects.normalise(email)
        person = Person.objects.filter(email=email).first()
        if person is None:
            person = Person.objects.create_user(
                email, name, password=None, licence_number=licence_number
            )
        if Membership.objects.filter(person=person, party=party).exists():
            raise Refused(
                _("{email} is a member already; look for {name} in the list.").format(
                    email=email, name=person.name
                )
            )
        member = Membership.objects.create(person=person, party=party, roles=_in_order(roles))
        if not person.has_usable_password():
            ask_for_reset(email, at=at)
        _announce_member(member, by)
    return member


def change_roles(member, *, by, roles):
    """Give a member another set of roles."""
    with transaction.atomic():
        _check_own(member, by)
        _refuse_if(_objections(member, roles, member.is_active))
        member.roles = _in_order(roles)
        member.save(update_fields=["roles"])
        _announce_member(member, by)
    return member


def switch_off_member(member, *, by):
    """End a membership: its sessions end with the next request, its cases fall to others."""
    with transaction.atomic():
        _check_own(member, by)
        _refuse_if(_objections(member, member.roles, False))
        Membership.objects.filter(pk=member.pk).update(is_active=False)
        member.is_active = False
        _announce_member(member, by)
    return member


def switch_on_member(member, *, by):
    """Let somebody whose membership was ended work here again."""
    with transaction.atomic():
        _check_own(member, by)
        Membership.objects.filter(pk=member.pk).update(is_active=True)
        member.is_active = True
        _announce_member(member, by)
    return member


def change_profile(*, by, name, licence_number, away_until):
    """Change what a member says about himself or herself."""
    with transaction.atomic():
        person = Person.objects.select_for_update(no_key=True).get(pk=by.person_id)
        person.name, person.licence_number = name, licence_number
        person.save(update_fields=["name", "licence_number"])
        by.person, by.away_until = person, away_until
        Membership.objects.filter(pk=by.pk).update(away_until=away_until)
        _announce_member(by, by, licence_number=licence_number)
    return by


@counts_wrong_passwords
def change_password(*, by, old, new):
    """Choose another password, the present one entered again; other sessions end."""
    with transaction.atomic():
        person = Person.objects.select_for_update(no_key=True).get(pk=by.person_id)
        wrong = _("The present password is not right; nothing was changed.")
        require_password(person, old, otherwise=wrong)
        person.set_password(new)
        person.save(update_fields=["password"])
        _announce_member(by, by, password="changed")
    return person


def change_party(*, by, **fields):
    """Change a party's particulars."""
    with transaction.atomic():
        party = _own_party(by)
        for name in PARTY_FIELDS:
            if name in fields:
                setattr(party, name, fields[name])
        if party.kind != PartyKind.PRACTICE:
            party.shows_patient_name = False
        party.save()
        _announce_party(party, by, {name: getattr(party, name) for name in PARTY_FIELDS})
    return party


def renew_join_code(*, by):
    """Give the party another join code; the one before opens nothing any more."""
    with transaction.atomic():
        party = _own_party(by)
        party.join_code = new_join_code()
        party.save(update_fields=["join_code"])
        _announce_party(party, by, {"join_code": "renewed"})
    return party


def new_join_code():
    """A join code nobody has: sixty bits, so that none is found by trying."""
    while True:
        numbers = [secrets.randbelow(len(JOIN_ALPHABET)) for _place in range(JOIN_LENGTH)]
        code = spell_join_code(numbers)
        if not Party.objects.filter(join_code=code).exists():
            return code


def join_party(*, by, join_code):
    """Agree to work with the party that gave its join code."""
    with transaction.atomic():
        own = _own_party(by)
        other = Party.objects.filter(join_code=join_code.strip().upper()).first()
        if other is None:
            raise Refused(
                _(
                    "No party has this code. Codes are renewed at times: ask the other party's "
                    "administrator for the one that holds today."
                )
            )
        _refuse_if(
            objections_to_partnership(
                own.kind,
                other.kind,
                is_same=own.pk == other.pk,
                works_together=work_together(own, other),
            )
        )
        practice, partner = (own, other) if own.kind == PartyKind.PRACTICE else (other, own)
        row = Partnership.objects.create(practice=practice, partner=partner)
        announce(
            "partnership.made",
            subject=f"{row._meta.label}:{row.pk}",
            by=by,
            facts={"partner": other.name},
        )
    return other


def ask_for_reset(email, *, at=None):
    """Note that somebody wants a new password. The same is done whoever has an account."""
    with transaction.atomic():
        request = ResetRequest.objects.create(email=Person.objects.normalise(email)[:254])
        enqueue("parties.reset_mail", request.pk, due_at=at)


def send_reset_mail(request_id, job):
    """Mail a link for a new password where there is such an account."""
    request = ResetRequest.objects.filter(pk=request_id).first()
    if request is not None and not _asked_just_before(request):
        person = Person.objects.filter(email=request.email, is_active=True).first()
        if person is not None:
            send_mail(
                _("Your password for Casework"),
                render_to_string("orders/parties/reset_mail.txt", _mail_facts(person)),
                settings.DEFAULT_FROM_EMAIL,
                [person.email],
            )
    with transaction.atomic():
        ResetRequest.objects.filter(asked_at__lt=timezone.now() - RESET_PAUSE).delete()
        finish(job)


def _asked_just_before(request):
    return ResetRequest.objects.filter(
        email=request.email,
        pk__lt=request.pk,
        asked_at__gt=request.asked_at - RESET_PAUSE,
    ).exists()


def _mail_facts(person):
    uid = urlsafe_base64_encode(force_bytes(person.pk))
    path = reverse("reset_confirm", args=[uid, default_token_generator.make_token(person)])
    return {
        "name": person.name,
        "is_invited": not person.has_usable_password(),
        "link": f"{settings.SITE_ADDRESS}{path}",
        "hours": settings.PASSWORD_RESET_TIMEOUT // 3600,
    }


def _own_party(by):
    """The party whose administrator acts, read afresh and locked."""
    if not by.has(Role.ADMINISTRATOR):
        raise PermissionDenied
    return Party.objects.select_for_update(no_key=True).get(pk=by.party_id)


def _check_own(member, by):
    party = _own_party(by)
    if member.party_id != party.pk:
        raise PermissionDenied


def _objections(member, roles, is_active):
    others = [row for row in active_administrators(member.party) if row.pk != member.pk]
    return objections_to_membership(
        member.party.kind, roles=roles, is_active=is_active, other_administrators=len(others)
    )


def _refuse_if(objections):
    if objections:
        raise Refused(*objections)


def _in_order(roles):
    return [str(role) for role in Role if str(role) in set(map(str, roles))]


def _announce_member(member, by, **more):
    announce(
        "member.changed",
        subject=f"{member._meta.label}:{member.pk}",
        by=by,
        facts={
            "person": member.person.name,
            "roles": ", ".join(member.roles),
            "is_active": member.is_active,
            "away_until": member.away_until,
            **more,
        },
    )


def _announce_party(party, by, says):
    announce(
        "party.changed",
        subject=f"{party._meta.label}:{party.pk}",
        by=by,
        facts={"party": party.name, "says": says},
    )
