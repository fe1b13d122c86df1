"""Is an implant's record taken over, refused and revised as it must be?"""

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from orders.catalogue.models import Component, System
from orders.implants import services
from orders.implants.models import Implant
from orders.implants.queries import known_lots
from orders.records import ChangedMeanwhile
from orders.refusals import Refused

AT = datetime(2026, 4, 1, 9, tzinfo=UTC)


@pytest.fixture
def component(db):
    return Component.objects.create(
        kind="implant",
        system=System.objects.create(name="Invented A", is_invented=True),
        part_number="IA-41-10",
        name="Implant 4.1 x 10",
        connection="cone 4",
        platform="regular",
        dimensions={
            "platform_diameter_mm": "4.1",
            "body_diameter_mm": "4.3",
            "length_mm": "10",
        },
        source="invented",
    )


@pytest.fixture
def save(case, dentist):
    def call(**typed):
        return services.save_implant(
            case.order.patient, by=dentist, case_code=case.code, at=AT, **typed
        )

    return call


def test_dimensions_are_taken_over_from_the_catalogue(save, component):
    implant = save(site="45", component=component, lot="A-12/B", placed_on=date(2026, 1, 12))

    implant.refresh_from_db()
    assert (implant.system, implant.connection) == ("Invented A", "cone 4")
    assert implant.body_diameter_mm == Decimal("4.3")
    assert implant.lot == "A-12/B"


def test_what_was_typed_wins_over_the_catalogue(save, component):
    implant = save(site="45", component=component, length_mm=Decimal("8.5"))

    assert Implant.objects.get(pk=implant.pk).length_mm == Decimal("8.5")


def test_one_site_holds_one_implant(save):
    save(site="45", system="typed")

    with pytest.raises(Refused, match="already"):
        save(site="45", system="another")

    assert Implant.objects.count() == 1


def test_placed_in_the_future_is_refused(save):
    with pytest.raises(Refused, match="still to come"):
        save(site="45", system="typed", placed_on=date(2026, 4, 2))

    assert not Implant.objects.exists()


def test_soft_tissue_is_one_of_the_words_for_it(save):
    assert save(site="45", soft_tissue="inflamed").soft_tissue == "inflamed"
    with pytest.raises(Refused, match="healthy, inflamed, not judged"):
        save(site="47", soft_tissue="rather red")
    assert Implant.objects.count() == 1


def test_d18_stale_tab_overwrites_nothing(save):
    implant = save(site="45", system="typed", lot="L1")
    stale = Implant.objects.get(pk=implant.pk)
    save(site="45", implant=implant, lot="L2", seen_revision=1)

    with pytest.raises(ChangedMeanwhile) as refused:
        save(site="45", implant=stale, lot="L3", seen_revision=1)

    assert refused.value.current.lot == "L2"
    assert Implant.objects.get().lot == "L2"


def test_prepared_teeth_must_stand(case, dentist):
    with pytest.raises(Refused, match="cannot be prepared"):
        services.save_dentition(
            case.order.patient,
            by=dentist,
            case_code=case.code,
            present=["44"],
            prepared=["46"],
            checked_on=date(2026, 3, 1),
        )


def test_c15_lots_known_to_the_practice_are_listed_for_comparing(save, practice):
    implant = save(site="45", system="typed", lot="S0123", identifier="09521234543213")

    assert known_lots(practice) == ["09521234543213", "S0123"]
    assert known_lots(practice, but=implant.pk) == []
