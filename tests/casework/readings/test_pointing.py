"""Pointing at a scan body: where, in which scan, by whom, and what is measured by it."""

import json

import pytest
from django.core.exceptions import PermissionDenied
from django.urls import reverse

from casework.audit.models import Entry
from casework.findings import measuring
from casework.findings.told import set_of
from casework.readings.models import Pointed
from casework.readings.queries import pointed_of
from casework.readings.services import point_at_scan_body, take_back_pointing
from orders.jobs.queries import pending
from orders.refusals import Refused


@pytest.fixture
def scanned(tell):
    return tell("crown", "scan")


@pytest.fixture
def scan(scanned):
    return scanned.case.evidence.get(role="working_arch_scan_bodies")


def pose_of(case):
    done = measuring.measured(case)[1]
    (sites,) = [one for one in done if one.planned.step == "sites"]
    return sites.values["handed"]["poses"].get("36")


def near_of(case):
    told, _keys = set_of(case)
    return {site.site: site.near_mm for site in told.sites}


def test_the_body_is_then_looked_for_where_somebody_pointed(scanned, scan):
    case = scanned.case
    before = pose_of(case)
    top = [o + 7 * a for o, a in zip(before["origin_mm"], before["axis"], strict=True)]

    point_at_scan_body(case, by=scanned.who("technician"), site="36", evidence=scan, place=top)

    assert near_of(case) == {"36": pytest.approx(tuple(top))}
    assert pending("findings.measure", [case.pk])[case.pk].state == "waiting"
    scanned.finish_jobs()
    assert pose_of(case)["origin_mm"] == pytest.approx(before["origin_mm"], abs=0.02)
    entry = Entry.objects.filter(kind="scan_body.pointed_at").get()
    facts = json.loads(entry.text)["facts"]
    assert (facts["site"], facts["file"]) == ("36", scan.number)


def test_pointed_beside_it_no_body_is_found_there(scanned, scan):
    case = scanned.case
    aside = [x + 15 for x in pose_of(case)["origin_mm"]]

    point_at_scan_body(case, by=scanned.who("dentist"), site="36", evidence=scan, place=aside)
    scanned.finish_jobs()

    assert pose_of(case) is None


def test_the_newest_pointing_counts_and_can_be_taken_back(scanned, scan):
    case, by = scanned.case, scanned.who("dentist")
    for place in ([1.0, 2.0, 3.0], [4.0, 5.0, 6.0]):
        point_at_scan_body(case, by=by, site="36", evidence=scan, place=place)
    assert pointed_of(case)["36"].place_mm == [4.0, 5.0, 6.0]

    take_back_pointing(case, by=by, site="36")

    assert pointed_of(case) == {} and near_of(case) == {"36": None}
    assert Pointed.objects.count() == 3
    with pytest.raises(Refused, match="Nobody pointed"):
        take_back_pointing(case, by=by, site="36")


def test_a_newer_scan_knows_nothing_of_it(scanned, scan):
    case = scanned.case
    point_at_scan_body(
        case, by=scanned.who("dentist"), site="36", evidence=scan, place=[1.0, 2.0, 3.0]
    )

    type(scan).objects.filter(pk=scan.pk).update(superseded_at=scan.received_at)

    assert pointed_of(case) == {}


def test_what_cannot_be_is_refused_and_nothing_kept(scanned, scan):
    case, by = scanned.case, scanned.who("dentist")
    other = case.evidence.get(role="opposing_arch")

    with pytest.raises(Refused, match="No implant"):
        point_at_scan_body(case, by=by, site="46", evidence=scan, place=[1.0, 2.0, 3.0])
    with pytest.raises(Refused, match=f"not in file {other.number}"):
        point_at_scan_body(case, by=by, site="36", evidence=other, place=[1.0, 2.0, 3.0])
    with pytest.raises(Refused, match="Press the scan body"):
        point_at_scan_body(case, by=by, site="36", evidence=scan, place=None)
    with pytest.raises(PermissionDenied):
        point_at_scan_body(
            case, by=scanned.who("desk"), site="36", evidence=scan, place=[1.0, 2.0, 3.0]
        )
    assert not Pointed.objects.exists()


def test_the_page_takes_a_place_and_takes_it_back(scanned, scan, sign_in):
    client = sign_in(scanned.who("dentist"))
    address = reverse("scan_body_point", args=[scanned.case.code])
    look = reverse("case_look", args=[scanned.case.code])
    assert "says where a scan body stands" in client.get(look).content.decode()

    sent = {"site": "36", "do": "point", "place": "1 2 3", "file": scan.number}
    assert client.post(address, sent).status_code == 302
    assert "pointed at by" in client.get(look).content.decode()
    assert client.post(address, {"site": "36", "do": "take back"}).status_code == 302
    assert pointed_of(scanned.case) == {}

    refused = client.post(address, sent | {"place": "here"})
    assert refused.status_code == 409 and "Press it again" in refused.content.decode()
