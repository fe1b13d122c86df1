"""How do parts live: planned, recorded, inspected, made anew, delivered one by one?"""

from datetime import date
from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied

from casework.audit.models import Entry
from casework.designs import services as designs
from casework.fabrication import queries, services
from casework.stages import Stage
from orders.records import ChangedMeanwhile
from orders.refusals import Refused
from tests.bench import (
    NOON,
    bring_to_practice,
    make_material,
    make_mesh_file,
    make_planned_case,
    make_version,
    parts_by_name,
    put_at,
)

pytestmark = pytest.mark.django_db
TODAY = NOON.date()


@pytest.fixture
def planned(dentist, laboratory, technician):
    return make_planned_case(dentist, laboratory, technician)


@pytest.fixture
def disc(technician):
    return services.enter_material_lot(
        by=technician, material=make_material(), lot="D-77", certificate="C-1", form="disc"
    )


def test_approved_version_lays_out_its_parts_and_all_screws(planned):
    _case, parts = planned

    assert set(parts) == {
        "bridge 45 46 47",
        "base 45",
        "base 47",
        "retaining screw 45",
        "retaining screw 47",
        "try-in screw 45",
        "try-in screw 47",
    }
    assert parts["try-in screw 45"].component == parts["retaining screw 45"].component


def test_nothing_is_planned_without_an_approval(planned, dentist):
    case, _parts = planned
    designs.void_approval(case, by=dentist, reason="Other margin.", at=NOON)

    with pytest.raises(Refused, match="No design version is approved"):
        services.plan_parts(case, by=dentist)


def test_unchanged_parts_are_kept_with_the_next_version(planned, technician, dentist):
    case, before = planned
    services.record_part(before["base 45"], by=technician, lot="B1")
    designs.void_approval(case, by=dentist, reason="Other form.", at=NOON)
    put_at(case, Stage.DESIGN)
    make_version(case, technician, state="approved", dentist=dentist)

    services.plan_parts(case, by=dentist)

    after = parts_by_name(case)
    assert after["base 45"].pk == before["base 45"].pk and after["base 45"].lot == "B1"
    assert after["bridge 45 46 47"].pk != before["bridge 45 46 47"].pk
    before["bridge 45 46 47"].refresh_from_db()
    assert before["bridge 45 46 47"].place == "replaced"


def test_one_disc_serves_parts_of_several_cases(planned, disc, dentist, laboratory, technician):
    _other, parts = make_planned_case(dentist, laboratory, technician)

    for part in (planned[1]["bridge 45 46 47"], parts["bridge 45 46 47"]):
        services.record_part(part, by=technician, material_lot=disc, made_on=TODAY, at=NOON)

    assert disc.parts.count() == 2


def test_a_lot_is_entered_once_and_belongs_to_a_house(disc, technician, dentist):
    with pytest.raises(Refused, match="entered already"):
        services.enter_material_lot(by=technician, material=disc.material, lot="D-77")
    with pytest.raises(PermissionDenied):
        services.enter_material_lot(by=dentist, material=disc.material, lot="D-78")


def test_recording_keeps_what_is_not_named(planned, disc, technician):
    bridge = planned[1]["bridge 45 46 47"]
    services.record_part(bridge, by=technician, material_lot=disc, at=NOON)

    part = services.record_part(bridge, by=technician, furnace_record="run 12", at=NOON)

    assert (part.material_lot, part.furnace_record) == (disc, "run 12")
    with pytest.raises(TypeError):
        services.record_part(bridge, by=technician, place="delivered")


def test_made_part_names_its_maker_and_no_day_to_come(planned, technician):
    bridge = planned[1]["bridge 45 46 47"]

    with pytest.raises(Refused, match="to come"):
        services.record_part(bridge, by=technician, made_on=date(2026, 4, 14), at=NOON)

    part = services.record_part(bridge, by=technician, made_on=TODAY, at=NOON)
    assert part.made_by == technician


def test_stale_page_does_not_overwrite_a_part(planned, technician):
    screw = planned[1]["retaining screw 45"]
    seen = screw.revision
    services.record_part(screw, by=technician, lot="L1", seen_revision=seen)

    with pytest.raises(ChangedMeanwhile):
        services.record_part(screw, by=technician, lot="L2", seen_revision=seen)

    screw.refresh_from_db()
    assert screw.lot == "L1"


def test_maker_does_not_inspect_where_there_are_two(
    planned, technician, second_technician, lab_lead
):
    bridge = planned[1]["bridge 45 46 47"]
    services.record_part(bridge, by=technician, made_on=TODAY, at=NOON)

    with pytest.raises(Refused, match="another one than"):
        services.inspect_part(bridge, by=technician, at=NOON)

    part = services.inspect_part(bridge, by=second_technician, note="Seats.", at=NOON)
    assert (part.inspected_by, part.inspected_on) == (second_technician, TODAY)


def test_single_technician_inspects_alone(planned, technician):
    bridge = planned[1]["bridge 45 46 47"]
    services.record_part(bridge, by=technician, made_on=TODAY, at=NOON)

    assert services.inspect_part(bridge, by=technician, at=NOON).inspected_by == technician


def test_change_after_the_inspection_asks_for_another(planned, disc, technician):
    bridge = planned[1]["bridge 45 46 47"]
    services.record_part(bridge, by=technician, made_on=TODAY, at=NOON)
    services.inspect_part(bridge, by=technician, at=NOON)

    priced = services.record_part(bridge, by=technician, cost=Decimal("240.00"), at=NOON)
    assert priced.inspected_by == technician

    changed = services.record_part(bridge, by=technician, material_lot=disc, at=NOON)
    assert changed.inspected_by is None


def test_unfit_part_is_made_anew_and_stays_on_record(planned, disc, technician):
    case, parts = planned
    bridge = parts["bridge 45 46 47"]
    services.record_part(
        bridge, by=technician, material_lot=disc, made_on=TODAY, cost=Decimal("200"), at=NOON
    )
    services.inspect_part(bridge, by=technician, is_fit=False, note="Crack at 46.", at=NOON)

    fresh = services.remake_part(bridge, by=technician, reason="Crack at 46.")

    assert fresh.design_part == bridge.design_part and fresh.material_lot is None
    assert bridge not in queries.current_parts(case)
    assert queries.all_parts(case).get(pk=bridge.pk).material_lot == disc
    assert queries.cost_so_far(case) == Decimal("200")
    assert Entry.objects.filter(kind="part.remade", case=case.code).count() == 1


def test_abutment_stays_while_the_bridge_goes_back(planned, dentist, technician):
    case, parts = planned
    bring_to_practice(case, technician)
    put_at(case, Stage.TRY_IN)

    services.leave_in_mouth(case, by=dentist, parts=[parts["base 45"]])

    after = parts_by_name(case)
    assert after["base 45"].place == "delivered"
    assert after["bridge 45 46 47"].place == "at practice"
    with pytest.raises(Refused, match="never stays"):
        services.leave_in_mouth(case, by=dentist, parts=[parts["try-in screw 45"]])


def test_delivery_leaves_the_work_in_and_the_try_in_screws_out(planned, dentist, technician):
    case, _parts = planned
    bring_to_practice(case, technician)

    services.mark_delivered(case, by=dentist)

    places = {name: part.place for name, part in parts_by_name(case).items()}
    assert places["bridge 45 46 47"] == places["retaining screw 47"] == "delivered"
    assert places["try-in screw 45"] == "at practice"


def test_d20_cancelled_case_keeps_lots_and_cost_and_takes_no_more(
    planned, disc, technician, sign_in
):
    case, parts = planned
    bridge = parts["bridge 45 46 47"]
    services.record_part(
        bridge,
        by=technician,
        material_lot=disc,
        made_on=TODAY,
        cost=Decimal("180.50"),
        at=NOON,
    )
    put_at(case, Stage.CANCELLED)

    with pytest.raises(Refused, match="not the time"):
        services.record_part(bridge, by=technician, milling_record="run 3")
    page = sign_in(technician).get(f"/cases/{case.code}/parts/")

    assert page.status_code == 200
    assert "D-77" in page.content.decode() and "180.50" in page.content.decode()
    assert queries.cost_so_far(case) == Decimal("180.50")


def test_two_sides_record_only_what_they_have_in_hand(planned, technician, front_desk):
    case, parts = planned
    bring_to_practice(case, technician)

    with pytest.raises(Refused, match="at practice"):
        services.record_part(parts["base 45"], by=technician, lot="B2")
    with pytest.raises(PermissionDenied):
        services.record_part(parts["base 45"], by=front_desk, lot="B2")


def test_another_laboratories_lot_is_refused(planned, other_laboratory, technician):
    from tests.factories import make_member

    stranger = make_member(other_laboratory, "technician")
    lot = services.enter_material_lot(by=stranger, material=make_material(), lot="X-1")

    with pytest.raises(Refused, match="not one of your house"):
        services.record_part(planned[1]["bridge 45 46 47"], by=technician, material_lot=lot)


def test_driver_and_statement_are_enclosed(planned, technician):
    case, _parts = planned

    part = services.add_enclosure(case, by=technician, kind="statement")

    assert part.place == "at laboratory" and part in queries.current_parts(case)
    with pytest.raises(Refused, match="Only driver, statement"):
        services.add_enclosure(case, by=technician, kind="sweets")


def test_file_of_a_kept_bridge_is_compared_by_digest(planned, technician, dentist):
    case, before = planned
    old = case.designs.get()
    sha256 = old.parts.get(kind="bridge").evidence.sha256
    material = old.parts.get(kind="bridge").material
    designs.void_approval(case, by=dentist, reason="Notes only.", at=NOON)
    put_at(case, Stage.DESIGN)
    version = designs.start_version(case, by=technician)
    again = make_mesh_file(case, technician, sha256=sha256)
    designs.add_made_part(
        version,
        by=technician,
        kind="bridge",
        sites=["45", "46", "47"],
        evidence=again,
        material=material,
    )
    designs.submit_version(version, by=technician, at=NOON)
    designs.approve_version(version, by=dentist, at=NOON)

    services.plan_parts(case, by=dentist)

    assert parts_by_name(case)["bridge 45 46 47"].pk == before["bridge 45 46 47"].pk
