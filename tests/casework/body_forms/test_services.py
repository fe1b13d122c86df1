"""Is the mesh of a form kept as it came, refused with a reason, replaced and removed?"""

import hashlib
import json
import struct
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.utils import timezone

from casework.audit.models import Entry
from casework.body_forms.models import BodyForm
from casework.body_forms.queries import forms_of, present_forms
from casework.body_forms.services import receive_form, remove_form
from casework.evidence.keeping import digest_of_stored, opened
from orders.catalogue.models import Component
from orders.jobs.models import Job
from orders.refusals import Refused
from tests.bench import put_at
from tests.casework.body_forms.making import (
    HEIGHT_MM,
    RADIUS_MM,
    coming,
    make_scan_body,
    put_mesh,
    round_stl,
)
from tests.casework.evidence.making import RECORD, binary_stl, picture, text_ply
from tests.factories import make_case, make_member
from tests.shapes import box, cylinder

SIDES = 64  # of the test's cylinder


def events():
    entries = Entry.objects.filter(kind="catalogue.changed").order_by("seq")
    return [json.loads(entry.text) for entry in entries]


def files(settings):
    return [path for path in Path(settings.DATA).rglob("*") if path.is_file()]


def test_mesh_is_kept_as_it_came(technician, scan_body):
    data = round_stl()

    row = put_mesh(scan_body, by=technician, data=data)

    with opened(row.storage_key) as stored:
        assert stored.read() == data
    assert row.sha256 == hashlib.sha256(data).hexdigest() == digest_of_stored(row.storage_key)
    # A cylinder of k sides: two triangles a side, k in the lid and k in the bottom.
    assert (row.format, row.size_bytes, row.triangle_count) == ("STL", len(data), 4 * SIDES)
    assert row.height_mm == Decimal(HEIGHT_MM) and row.diameter_mm == Decimal(2 * RADIUS_MM)
    assert present_forms([scan_body.pk]) == {scan_body.pk: row}


def test_trail_names_the_part_and_the_digest_and_no_name_of_a_file(technician, scan_body):
    row = put_mesh(scan_body, by=technician, name="for Mrs Somebody.stl")

    (event,) = events()
    assert event["subject"] == f"orders.Component:{scan_body.pk}"
    assert event["facts"]["says"]["mesh"]["sha256"] == row.sha256
    assert event["facts"]["component"] == "OWN-SB Own scan body"
    assert "Somebody" not in json.dumps(event)


def test_unit_is_heeded(technician, scan_body):
    """The same cylinder in inches, 1 inch = 25.4 mm exactly."""
    vertices, faces = cylinder(RADIUS_MM / 25.4, HEIGHT_MM / 25.4)

    row = put_mesh(scan_body, by=technician, data=binary_stl((vertices, faces)), unit="inch")

    assert row.unit_factor == "25.4"
    assert row.height_mm == Decimal("8.00") and row.diameter_mm == Decimal("4.50")


@pytest.mark.parametrize(
    "name,data,triangles",
    [
        ("form.ply", text_ply(cylinder(2, 8)), 4 * SIDES),
        ("form.obj", b"v -2 -2 0\nv 2 -2 0\nv 0 2 0\nv 0 0 8\nf 1 3 2\nf 1 2 4\nf 2 3 4\n"
                     b"f 3 1 4\n", 4),
    ],
)  # fmt: skip
def test_ply_and_obj_are_taken(technician, scan_body, name, data, triangles):
    row = put_mesh(scan_body, by=technician, data=data, name=name)

    assert row.format == name[-3:].upper() and row.triangle_count == triangles


def _many(count):
    """A binary STL of so many equal triangles."""
    records = np.zeros(count, RECORD)
    records["corners"] = [[0, 0, 1], [1, 0, 1], [0, 1, 1]]
    return bytes(80) + struct.pack("<I", count) + records.tobytes()


INSIDE_OUT = cylinder(2, 8)[0], cylinder(2, 8)[1][:, ::-1]


@pytest.mark.parametrize(
    "data,says",
    [
        (b"", "is empty"),
        (picture("PNG"), "not a surface mesh"),
        (round_stl()[:-20], "is cut off"),
        (_many(200_001), "200,001 triangles; at most 200,000"),
        (bytes(20 * 2**20 + 1), "is larger than 20 MiB"),
        (binary_stl(box(60, 45, 15)), "stand around its axis"),
        (binary_stl(cylinder(2, 80)), "reaches 80.0 mm above"),
        (binary_stl(cylinder(2, 0.5)), "reaches 0.5 mm above"),
        (binary_stl(INSIDE_OUT), "inside out"),
    ],
)
def test_what_is_no_form_is_refused_and_leaves_nothing(
    technician, scan_body, settings, data, says
):
    with (
        coming(data, "mine.stl") as incoming,
        pytest.raises(Refused, match="mine.stl") as refusal,
    ):
        receive_form(scan_body, by=technician, incoming=incoming, unit="millimetre")

    assert says in str(refusal.value)
    assert not BodyForm.objects.exists() and not files(settings) and not events()


def test_unit_that_is_none_is_refused(technician, scan_body):
    with pytest.raises(Refused, match="Choose the unit: millimetre"):
        put_mesh(scan_body, by=technician, unit="cubit")


def test_only_ones_own_scan_bodies_have_meshes(
    technician, dentist, laboratory, scan_body, lab_lead
):
    shared = make_scan_body(None)
    driver = Component.objects.create(
        owner=laboratory, kind="driver", part_number="D-1", name="Driver", source="invented"
    )
    for row, by, says in (
        (shared, technician, "Shared rows cannot be changed"),
        (driver, technician, "D-1 is a driver: only a scan body has a mesh of its form"),
        (scan_body, dentist, "in another party's catalogue"),
    ):
        with pytest.raises(Refused, match=says):
            put_mesh(row, by=by)
        with pytest.raises(Refused, match=says):
            remove_form(row, by=by)
    # Whoever coordinates changes no row of the catalogue.
    with pytest.raises(PermissionDenied):
        put_mesh(scan_body, by=lab_lead)
    with pytest.raises(PermissionDenied):
        remove_form(scan_body, by=lab_lead)
    assert not BodyForm.objects.exists()


def test_replaced_mesh_stays_behind_the_new_one(technician, second_technician, scan_body):
    first = put_mesh(scan_body, by=technician)
    second = put_mesh(scan_body, by=second_technician, data=round_stl(7.0))

    present, before = forms_of(scan_body)

    assert present == second and before == [first]
    assert before[0].ended_by == second_technician and before[0].ended_at is not None
    assert digest_of_stored(before[0].storage_key) == first.sha256
    assert [event["facts"]["says"]["mesh"]["sha256"] for event in events()] == [
        first.sha256,
        second.sha256,
    ]


def test_same_bytes_are_not_taken_twice_but_in_another_unit(technician, scan_body, settings):
    data = binary_stl(cylinder(0.2, 1.1))
    row = put_mesh(scan_body, by=technician, data=data)

    with pytest.raises(Refused, match="there already, in the same unit"):
        put_mesh(scan_body, by=technician, data=data)

    assert forms_of(scan_body) == (row, []) and len(files(settings)) == 1
    other = put_mesh(scan_body, by=technician, data=data, unit="centimetre")
    assert forms_of(scan_body) == (other, [row])


def test_removed_mesh_is_no_longer_the_form(technician, scan_body):
    row = put_mesh(scan_body, by=technician)

    remove_form(scan_body, by=technician)

    assert forms_of(scan_body) == (None, [row]) and present_forms([scan_body.pk]) == {}
    assert events()[-1]["facts"]["says"] == {"mesh": None}
    with pytest.raises(Refused, match="no mesh"):
        remove_form(scan_body, by=technician)


def test_database_holds_one_present_mesh(technician, scan_body):
    row = put_mesh(scan_body, by=technician)

    row.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save(force_insert=True)


def test_open_cases_with_the_scan_body_are_measured_anew(
    technician, dentist, laboratory, scan_body
):
    from casework.readings.models import ScanBodyUse

    cases = [make_case(dentist, laboratory=laboratory) for _ in range(3)]
    for case in cases[:2]:
        for site in ("36", "46"):
            ScanBodyUse.objects.create(
                case=case, site=site, component=scan_body, placed_on=timezone.now().date()
            )
    put_at(cases[1], "closed")
    Job.objects.all().delete()

    put_mesh(scan_body, by=technician)

    jobs = Job.objects.filter(kind="findings.measure").values_list("subject_id", flat=True)
    assert list(jobs) == [cases[0].pk]


def test_administrator_and_dentist_may_as_for_every_row(practice):
    body = make_scan_body(practice)
    for role, height_mm in (("administrator", 8.0), ("dentist", 9.0)):
        put_mesh(body, by=make_member(practice, role), data=round_stl(height_mm))

    assert forms_of(body)[0].height_mm == Decimal("9.00")
