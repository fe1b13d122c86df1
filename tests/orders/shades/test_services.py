"""Are guides and shade notes kept to their practice?"""

from datetime import UTC, date, datetime

import pytest
from django.core.exceptions import PermissionDenied

from orders.refusals import Refused
from orders.shades import services
from orders.shades.models import ShadeGuide, ShadeNote

AT = datetime(2026, 4, 1, 9, tzinfo=UTC)
NOTE = {"body": "L2", "light": "daylight", "taken_on": date(2026, 4, 1)}


@pytest.fixture
def guide(dentist):
    return services.save_guide(by=dentist, name="Invented guide", tabs=["L1", "L2"])


def test_shade_is_noted_and_revised(case, assistant, guide):
    services.save_shade(case.order, by=assistant, guide=guide, at=AT, **NOTE)
    services.save_shade(
        case.order, by=assistant, guide=guide, at=AT, seen_revision=1, gum_shade="G1"
    )

    note = ShadeNote.objects.get()
    assert (note.revision, note.body, note.gum_shade) == (2, "L2", "G1")


def test_tab_that_the_guide_lacks_is_refused(case, assistant, guide):
    with pytest.raises(Refused, match="no tab 'B9'"):
        services.save_shade(
            case.order, by=assistant, guide=guide, at=AT, **NOTE | {"body": "B9"}
        )

    assert not ShadeNote.objects.exists()


def test_another_partys_guide_is_refused(case, assistant, laboratory):
    theirs = ShadeGuide.objects.create(owner=laboratory, name="Theirs", tabs=["L2"])

    with pytest.raises(Refused, match="not one of your practice's"):
        services.save_shade(case.order, by=assistant, guide=theirs, at=AT, **NOTE)


def test_two_guides_of_one_name_are_refused(dentist, guide):
    with pytest.raises(Refused, match="already"):
        services.save_guide(by=dentist, name="Invented guide", tabs=["X"])


def test_front_desk_enters_no_guide(front_desk):
    with pytest.raises(PermissionDenied):
        services.save_guide(by=front_desk, name="Mine", tabs=["X"])
