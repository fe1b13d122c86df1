"""Does a practice's own limit count from its day on, with its source, and only there?"""

from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied
from django.urls import reverse

from casework.audit.models import Entry
from casework.findings.models import PartyLimit
from casework.findings.queries import limits_of, limits_to_set
from casework.findings.services import set_limit
from orders.refusals import Refused
from orders.typing_fields import today_at
from tests import factories

TYPED = {"name": "isq_low", "value": "62,5", "source": "Instructions for use, invented"}


def test_limit_counts_from_today_with_its_source(sign_in, practice_admin, other_practice):
    answer = sign_in(practice_admin).post(reverse("party_limits"), TYPED)

    assert answer.status_code == 302
    party = practice_admin.party
    row = limits_of(party, today_at(party))("isq_low")
    assert (row.value, row.source) == (Decimal("62.5"), TYPED["source"])
    assert limits_of(other_practice, today_at(party))("isq_low").value == Decimal("60")
    assert Entry.objects.filter(kind="limit.set").count() == 1


def test_page_shows_what_is_in_force_beside_the_default(sign_in, practice_admin):
    client = sign_in(practice_admin)
    client.post(reverse("party_limits"), TYPED)

    page = client.get(reverse("party_limits")).content.decode()

    assert "62.5 ISQ" in page and "60 ISQ" in page and TYPED["source"] in page
    assert f"entered by {practice_admin.person.name}" in page


@pytest.mark.parametrize(
    "change",
    [
        {"value": "-1"},
        {"value": "many"},
        {"value": "0"},
        {"source": " "},
        {"name": "photo_size"},
    ],
    ids=str,
)
def test_unreadable_limit_is_not_saved(sign_in, practice_admin, change):
    answer = sign_in(practice_admin).post(reverse("party_limits"), TYPED | change)

    assert answer.status_code in (409, 422)
    assert not PartyLimit.objects.exists()


def test_limit_that_no_check_reads_cannot_be_set(practice_admin):
    assert "photo_size" not in {row.name for row in limits_to_set()}
    with pytest.raises(Refused):
        set_limit(by=practice_admin, name="photo_size", value=Decimal(1), source="here")


def test_only_a_practices_administrator_sets_limits(dentist, laboratory):
    admin = factories.make_member(laboratory, "administrator")

    for member in (dentist, admin):
        with pytest.raises(PermissionDenied):
            set_limit(by=member, name="isq_low", value=Decimal(61), source="here")
