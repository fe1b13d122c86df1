"""Do members, particulars and partnerships change only as their administrator says?"""

from datetime import date

import pytest
from django.core import mail
from django.core.exceptions import PermissionDenied

from casework.audit.models import Entry
from orders.parties import services
from orders.parties.models import Membership, Partnership, Person
from orders.parties.queries import partners_of, partnerships_of
from orders.refusals import PasswordWrong, Refused
from tests.factories import PASSWORD, make_member, make_party

pytestmark = pytest.mark.django_db


def invite(by, **fields):
    given = {"email": "New@Example.org", "name": "Nora New", "roles": ["dentist"]} | fields
    return services.invite_member(by=by, **given)


def test_invited_person_gets_a_mail_and_no_password(practice_admin, run_jobs):
    member = invite(practice_admin)
    run_jobs()

    assert member.person.email == "new@example.org"
    assert not member.person.has_usable_password()
    assert "you were made a member" in mail.outbox[0].body
    assert Entry.objects.filter(kind="member.changed").count() == 1


def test_person_with_an_account_is_only_added(practice_admin, technician, run_jobs):
    member = invite(practice_admin, email=technician.person.email)
    run_jobs()

    assert member.person == technician.person and not mail.outbox
    assert Person.objects.filter(email=technician.person.email).count() == 1


def test_member_is_invited_once(practice_admin):
    invite(practice_admin)

    with pytest.raises(Refused, match="a member already"):
        invite(practice_admin)
    assert Membership.objects.filter(person__email="new@example.org").count() == 1


def test_role_of_another_kind_of_party_is_refused(practice_admin):
    with pytest.raises(Refused, match="Technician is not a role at a practice"):
        invite(practice_admin, roles=["technician"])
    assert not Person.objects.filter(email="new@example.org").exists()


def test_only_an_administrator_invites(dentist):
    with pytest.raises(PermissionDenied):
        invite(dentist)


def test_administrator_has_no_hand_on_another_party(practice_admin, technician):
    with pytest.raises(PermissionDenied):
        services.switch_off_member(technician, by=practice_admin)
    with pytest.raises(PermissionDenied):
        services.change_roles(technician, by=practice_admin, roles=["technician"])


def test_last_administrator_stays(practice_admin):
    with pytest.raises(Refused, match="without an administrator"):
        services.switch_off_member(practice_admin, by=practice_admin)
    with pytest.raises(Refused, match="without an administrator"):
        services.change_roles(practice_admin, by=practice_admin, roles=["dentist"])


def test_d10_cases_of_a_member_switched_off_become_unassigned(
    practice_admin, dentist, case, practice
):
    second = make_member(practice, "coordinator")
    assert case.parties.get(side="practice").assigned == dentist

    services.switch_off_member(dentist, by=practice_admin)

    assert case.parties.get(side="practice").assigned is None
    row = case.summaries.get(party=practice)
    assert row.assigned is None and row.is_turn
    trail = Entry.objects.filter(case=case.code)
    assert trail.get(kind="case.opened").actor_name == dentist.person.name
    assert trail.get(kind="case.assigned").actor_name == practice_admin.person.name
    assert second.is_active


def test_switched_off_member_comes_back_without_the_cases(practice_admin, dentist, case):
    services.switch_off_member(dentist, by=practice_admin)
    services.switch_on_member(dentist, by=practice_admin)

    assert Membership.objects.get(pk=dentist.pk).is_active
    assert case.parties.get(side="practice").assigned is None


def test_profile_is_changed_by_its_person(dentist):
    services.change_profile(
        by=dentist, name="Dora Else", licence_number="L-9", away_until=date(2026, 8, 1)
    )

    stored = Membership.objects.select_related("person").get(pk=dentist.pk)
    assert (stored.person.name, stored.person.licence_number) == ("Dora Else", "L-9")
    assert stored.away_until == date(2026, 8, 1)


def test_password_needs_the_present_one(dentist):
    with pytest.raises(PasswordWrong):
        services.change_password(by=dentist, old="wrong", new="quite another phrase")
    services.change_password(by=dentist, old=PASSWORD, new="quite another phrase")

    assert Person.objects.get(pk=dentist.person_id).check_password("quite another phrase")


def test_party_is_changed_and_a_laboratory_shows_no_names(laboratory):
    by = make_member(laboratory, "administrator")

    party = services.change_party(
        by=by, name="Bench Five", notation="universal", shows_patient_name=True
    )

    assert (party.name, party.notation) == ("Bench Five", "universal")
    assert party.shows_patient_name is False


def test_partnership_is_made_from_either_side(practice_admin, practice):
    first, second = make_party("laboratory"), make_party("scan centre")
    by = make_member(second, "administrator")

    services.join_party(by=practice_admin, join_code=f" {first.join_code.lower()} ")
    services.join_party(by=by, join_code=practice.join_code)

    assert set(partners_of(practice, "laboratory")) == {first}
    assert set(partners_of(practice, "scan centre")) == {second}
    assert [one["party"] for one in partnerships_of(second)] == [practice]


def test_wrong_or_renewed_code_makes_no_partnership(practice_admin):
    laboratory = make_party("laboratory")
    old = laboratory.join_code
    services.renew_join_code(by=make_member(laboratory, "administrator"))

    for code in (old, "AAAA-AAAA-AAAA", ""):
        with pytest.raises(Refused, match="No party has this code"):
            services.join_party(by=practice_admin, join_code=code)
    assert not Partnership.objects.exists()
