"""Are the scan bodies of a case fitted to the mesh in the catalogue, whosever it is?"""

import io

import numpy as np
import pytest
from django.utils import timezone

from casework.benchmark.scanned_bodies import prism_mesh, segment
from casework.body_forms.services import remove_form
from casework.evidence.receiving import Slot, receive_file
from casework.findings import measuring
from casework.findings.told import set_of
from casework.measurements.models import Measurement
from casework.readings.models import ScanBodyUse
from orders.implants.models import Implant
from tests.bench import put_at
from tests.casework.body_forms.making import make_scan_body, put_mesh, round_stl
from tests.casework.evidence.making import binary_stl

pytestmark = pytest.mark.slow


@pytest.fixture
def scan():
    """A piece of jaw with a five-sided scan body, which no dimensions can tell."""
    return segment(3, ("prism",))


@pytest.fixture
def told(case, dentist, technician, scan_body, scan, run_jobs):
    """The practice's case with a scan body of the laboratory's own, scanned and measured."""
    put_at(case, "scan capture")
    today = timezone.now().date()
    ScanBodyUse.objects.create(case=case, site="36", component=scan_body, placed_on=today)
    slot = Slot(role="working_arch_scan_bodies", jaw="lower", sites=("36",), taken_on=today)
    stream = io.BytesIO(binary_stl((scan.vertices, scan.faces)))
    receive_file(case, by=dentist, stream=stream, name="scan.stl", slot=slot)
    put_mesh(scan_body, by=technician, data=binary_stl(prism_mesh()))
    run_jobs()
    return case


def bodies(case):
    """What the step that finds scan bodies says now, and its key."""
    _told, done, waiting, _not_told = measuring.measured(case)
    assert waiting == []
    (one,) = [one for one in done if one.planned.step == "scan_bodies"]
    return one.values, one.key


def test_body_is_found_at_its_known_pose(told, scan):
    """Against the pose that the scan was made from; within the doubt that is said."""
    ((_kind, pose),) = scan.bodies
    (found,) = bodies(told)[0]["handed"]["found"]

    away_mm = np.linalg.norm(np.subtract(found["origin_mm"], pose.origin_mm))
    turned_deg = np.degrees(np.arccos(np.clip(np.dot(found["toward"], pose.toward), -1, 1)))
    assert found["form"] == "OWN-SB"
    assert away_mm < 2 * found["origin_95_mm"] < 0.1
    assert turned_deg < 1


def test_replaced_mesh_measures_anew(told, technician, scan_body, run_jobs):
    values, key = bodies(told)

    put_mesh(scan_body, by=technician, data=round_stl())
    assert "scan_bodies" in {one.step for one in measuring.measured(told)[2]}
    run_jobs()

    now, key_now = bodies(told)
    assert key_now != key and now["handed"]["found"] == []
    assert Measurement.objects.filter(case=told, method="scan_bodies").count() == 2
    # The first mesh again: what was kept under its digest stands, nothing is computed.
    put_mesh(scan_body, by=technician, data=binary_stl(prism_mesh()))
    run_jobs()
    assert bodies(told) == (values, key)
    assert Measurement.objects.filter(case=told, method="scan_bodies").count() == 2


def test_two_parts_of_one_number_keep_their_own_forms(told, dentist, practice, scan_body):
    """The laboratory's stands at 36, the practice's own of the same number at 46."""
    other = make_scan_body(practice, dimensions={"height_mm": "8.0", "diameter_mm": "4.5"})
    today = timezone.now().date()
    ScanBodyUse.objects.create(case=told, site="46", component=other, placed_on=today)
    for site in ("36", "46"):
        Implant.objects.create(patient=told.order.patient, site=site)

    known, _keys = set_of(told)

    at = {site.site: known.forms[site.scan_body] for site in known.sites}
    assert at["36"]["sha256"] == scan_body.body_forms.get().sha256
    assert at["46"] == {"name": "OWN-SB", "height_mm": 8.0, "diameter_mm": 4.5}


def test_removed_mesh_leaves_the_dimensions(told, technician, scan_body, run_jobs):
    remove_form(scan_body, by=technician)
    run_jobs()

    (row,) = bodies(told)[0]["results"]
    assert row["value"] is None and "diameter" in row["because"]
