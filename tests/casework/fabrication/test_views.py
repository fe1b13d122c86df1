"""What do the pages of parts, lots and parcels show, to whom, and how do they answer?"""

from datetime import timedelta

import pytest
from django.utils import timezone

from casework.fabrication import services
from casework.fabrication.models import MaterialLot
from tests.bench import make_material, make_offer, make_planned_case, parts_by_name

pytestmark = pytest.mark.django_db


@pytest.fixture
def planned(dentist, laboratory, technician):
    return make_planned_case(dentist, laboratory, technician)


def test_technician_records_inspects_and_packs(planned, technician, second_technician, sign_in):
    case, parts = planned
    client = sign_in(technician)
    bridge = parts["bridge 45 46 47"]
    material = make_material()
    lot = {"material": material.pk, "lot": "0012E5", "certificate": "C-9"}
    assert client.post("/lots/", lot).status_code == 302
    row = MaterialLot.objects.get()
    assert row.lot == "0012E5"
    today = timezone.now().date()
    made = {
        "material_lot": row.pk,
        "milling_record": "run 4",
        "made_on": today.isoformat(),
        "cost": "180,50",
        "seen_revision": bridge.revision,
    }
    url = f"/cases/{case.code}/parts/"
    assert client.post(f"{url}{bridge.pk}/", made).status_code == 302
    assert client.post(f"{url}{bridge.pk}/inspect/", {"is_fit": "yes"}).status_code == 409
    client = sign_in(second_technician)
    assert client.post(f"{url}{bridge.pk}/inspect/", {"is_fit": "yes"}).status_code == 302
    assert client.post(f"{url}disinfect/", {"parts": [bridge.pk]}).status_code == 302

    parcel = {
        "parts": [part.pk for part in parts.values()],
        "courier": "Rider",
        "expected_on": (today + timedelta(days=2)).isoformat(),
        "disinfected": "on",
    }
    packed = client.post(f"/cases/{case.code}/parcels/pack/dispatch_for_try_in/", parcel)

    assert packed.status_code == 302
    page = client.get(url).content.decode()
    assert "0012E5" in page and "C-9" in page and "run 4" in page and "Rider" in page
    assert case.parcels.get().lines.count() == len(parts)


def test_part_starts_as_the_last_of_its_material_was_made(planned, technician, sign_in):
    case, parts = planned
    bridge = parts["bridge 45 46 47"]
    services.record_part(
        bridge, by=technician, milling_record="mill 2, run 118", made_on=timezone.now().date()
    )
    design = bridge.design_part
    alike, other = (
        case.work_parts.create(kind="crown", sites=[site], design_part=row, revision=1)
        for site, row in (("36", design), ("35", None))
    )
    client = sign_in(technician)

    first, second = (
        client.get(f"/cases/{case.code}/parts/{part.pk}/").content.decode()
        for part in (alike, other)
    )

    assert 'value="mill 2, run 118"' in first
    assert "mill 2, run 118" not in second


def test_courier_named_last_is_proposed_to_the_same_party_only(
    planned, technician, second_technician, dentist, laboratory, sign_in
):
    case, parts = planned
    services.pack_parcel(
        case,
        by=technician,
        move="dispatch_for_try_in",
        parts=list(parts.values()),
        courier="Rider",
        expected_on=timezone.now().date() + timedelta(days=2),
    )
    other, _parts = make_planned_case(dentist, laboratory, technician)

    page = sign_in(second_technician).get(
        f"/cases/{other.code}/parcels/pack/dispatch_for_try_in/"
    )

    assert 'name="courier" value="Rider"' in page.content.decode()


def test_front_desk_counts_a_parcel(planned, technician, front_desk, practice, sign_in):
    case, parts = planned
    now = timezone.now()
    parcel = services.pack_parcel(
        case,
        by=technician,
        move="dispatch_for_try_in",
        parts=parts.values(),
        courier="Rider",
        expected_on=now.date(),
    )
    services.send_parcel(
        parcel, handoff=make_offer(case, technician, practice), by=technician, at=now
    )
    client = sign_in(front_desk)
    url = f"/cases/{case.code}/parcels/{parcel.pk}/"
    sound = {f"part_{part.pk}": "sound" for part in parts.values()}

    assert "Count it" in client.get(url).content.decode()
    half = client.post(f"{url}count/", {f"part_{parts['base 45'].pk}": "sound"})
    assert half.status_code == 422
    assert client.post(f"{url}count/", sound).status_code == 302

    assert parts_by_name(case)["bridge 45 46 47"].place == "at practice"
    parcel.refresh_from_db()
    assert parcel.state == "arrived"


def test_bad_input_says_the_field_and_saves_nothing(planned, technician, sign_in):
    case, parts = planned
    client = sign_in(technician)
    url = f"/cases/{case.code}/parts/{parts['bridge 45 46 47'].pk}/"

    unread = client.post(url, {"made_on": "03/04/2026", "cost": "many"})

    assert unread.status_code == 422
    assert "can be read as two dates" in unread.content.decode()
    assert parts_by_name(case)["bridge 45 46 47"].revision == 1


def test_stale_part_shows_both_and_saves_on_the_second_press(planned, technician, sign_in):
    case, parts = planned
    screw = parts["retaining screw 45"]
    services.record_part(screw, by=technician, lot="L1")
    client = sign_in(technician)
    url = f"/cases/{case.code}/parts/{screw.pk}/"

    first = client.post(url, {"lot": "L2", "seen_revision": screw.revision})
    page = first.content.decode()
    assert first.status_code == 409 and "L1" in page and "L2" in page

    seen = parts_by_name(case)["retaining screw 45"].revision
    assert f'name="seen_revision" value="{seen}"' in page
    assert client.post(url, {"lot": "L2", "seen_revision": seen}).status_code == 302


def test_wrong_role_is_403_and_another_party_404(
    planned, front_desk, dentist, other_laboratory, sign_in
):
    from tests.factories import make_member

    case, parts = planned
    url = f"/cases/{case.code}/parts/"
    part = f"{url}{parts['base 45'].pk}/"

    assert sign_in(front_desk).get(url).status_code == 200
    assert sign_in(dentist).get(part).status_code == 403
    assert sign_in(front_desk).get("/lots/").status_code == 403
    stranger = make_member(other_laboratory, "technician")
    assert sign_in(stranger).get(url).status_code == 404
    assert sign_in(stranger).post(part, {"lot": "X"}).status_code == 404


def test_unknown_parcel_move_and_part_are_404(planned, technician, sign_in):
    case, _parts = planned
    client = sign_in(technician)

    for path in ("parts/999999/", "parcels/999999/", "parcels/pack/approve_design/"):
        assert client.get(f"/cases/{case.code}/{path}").status_code == 404
