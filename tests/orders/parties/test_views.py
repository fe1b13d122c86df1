"""Do the pages about members and parties show what was typed, and refuse what they must?"""

from html import unescape

import pytest
from django.urls import reverse

from orders.parties.models import Membership, Party, Person
from tests.factories import PASSWORD, make_member

pytestmark = pytest.mark.django_db

# E02, E03 and E08: names in any script, markup, apostrophes.
NAMES = {
    "cjk": "\u5c71\u7530 \u592a\u90ce",
    "arabic": "\u0645\u062d\u0645\u062f \u0639\u0644\u064a",
    "hebrew": "\u05d9\u05e2\u05dc \u05db\u05d4\u05df",
    "thai": "\u0e2a\u0e21\u0e0a\u0e32\u0e22",
    "emoji": "Kim \U0001f469\u200d\U0001f52c",
    "script": "<script>alert(1)</script>",
    "entity": "&lt;b&gt;",
    "template": "{{ 7*7 }} {% now %}",
    "apostrophe": "O'Brien",
    "curled": "O\u2019Brien",
    "drop": "Robert'); DROP TABLE case;--",
    "quotes": '"Bo" Li',
}


@pytest.mark.parametrize("typed", NAMES.values(), ids=NAMES.keys())
def test_e02_e03_e08_name_is_stored_and_shown_as_typed(sign_in, practice_admin, typed):
    client = sign_in(practice_admin)
    form = {"email": "new@example.org", "name": typed, "roles": ["dentist"]}

    page = client.post(reverse("members"), form, follow=True).content.decode()

    assert Person.objects.get(email="new@example.org").name == typed
    assert f"<bdi>{typed}</bdi>" in unescape(page)
    assert "<script>alert" not in page


def test_what_was_not_filled_in_is_said_beside_the_field(sign_in, practice_admin):
    response = sign_in(practice_admin).post(reverse("members"), {"email": "no mail"})

    assert response.status_code == 422
    assert set(response.context["form"].errors) == {"email", "name", "roles"}
    assert 'id="id_email_error"' in response.content.decode()


def test_refusal_is_shown_with_its_sentence(sign_in, practice_admin):
    client = sign_in(practice_admin)

    response = client.post(reverse("member_off", args=[practice_admin.pk]))

    assert response.status_code == 409
    assert "without an administrator" in response.content.decode()
    assert Membership.objects.get(pk=practice_admin.pk).is_active


@pytest.mark.parametrize("name", ["member", "member_off", "member_on"])
def test_member_of_another_party_does_not_exist(sign_in, practice_admin, technician, name):
    response = sign_in(practice_admin).post(reverse(name, args=[technician.pk]))

    assert response.status_code == 404


@pytest.mark.parametrize("name", ["members", "party", "party_join", "party_join_code"])
def test_other_roles_are_refused(sign_in, dentist, name):
    assert sign_in(dentist).post(reverse(name)).status_code == 403


def test_party_page_saves_and_reads_regions(sign_in, practice_admin, practice):
    client = sign_in(practice_admin)
    form = {
        "name": practice.name,
        "country": "de",
        "region": "by",
        "time_zone": "Europe/Berlin",
        "notation": "quadrant",
        "date_order": "dmy",
        "retention_years": "12",
    }

    assert client.post(reverse("party"), form).status_code == 302
    wrong = client.post(reverse("party"), form | {"region": "XX", "country": "QQ"})

    stored = Party.objects.get(pk=practice.pk)
    assert (stored.country, stored.region, stored.retention_years) == ("DE", "BY", 12)
    assert wrong.status_code == 422
    assert set(wrong.context["form"].errors) == {"country", "region"}


def test_password_is_changed_and_the_session_goes_on(sign_in, dentist):
    client = sign_in(dentist)
    form = {"old": PASSWORD, "new": "quite another phrase", "again": "quite another phrase"}

    assert client.post(reverse("password"), form | {"again": "x"}).status_code == 422
    assert client.post(reverse("password"), form | {"old": "wrong"}).status_code == 409
    assert client.post(reverse("password"), form).status_code == 302
    assert client.get(reverse("profile")).status_code == 200


def test_profile_reads_days_as_the_party_writes_them(sign_in, practice):
    practice.date_order = "dmy"
    practice.save()
    member = make_member(practice, "hygienist")
    client = sign_in(member)

    client.post(reverse("profile"), {"name": "Hanna", "away_until": "03/04/2027"})

    assert Membership.objects.get(pk=member.pk).away_until.isoformat() == "2027-04-03"


def test_page_names_party_person_and_roles(sign_in, practice_admin):
    page = sign_in(practice_admin).get(reverse("profile")).content.decode()

    assert practice_admin.party.name in page and practice_admin.person.name in page
    assert "Administrator" in page and 'method="post" action="/sign-out/"' in page
