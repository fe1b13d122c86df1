"""Is a file measured only in a settled unit, and does the copy that leaves prove itself?"""

import io
from datetime import date

import pytest
from django.core.files.storage import default_storage

from casework.evidence import services
from casework.evidence.models import Derived, Evidence
from casework.evidence.services import Slot
from casework.measure.meshes import geometry_digest
from casework.measure.reading import read_mesh
from casework.measurements.models import Measurement
from casework.measurements.queries import as_facts, integrity_of
from orders.canonical import digest_of
from orders.jobs.models import Job
from orders.refusals import Refused
from tests.casework.evidence import making
from tests.shapes import box, sheet


@pytest.fixture
def inspected(case, dentist, run_jobs):
    """Receives a file, runs the background, returns the row."""

    def receive(data, name="scan.stl", **says):
        outcome = services.receive_file(
            case, by=dentist, stream=io.BytesIO(data), name=name, slot=Slot(**says)
        )
        run_jobs()
        return Evidence.objects.get(pk=outcome.evidence.pk)

    return receive


ARCH = {"role": "working_arch", "jaw": "upper"}


def bytes_of(row):
    with default_storage.open(row.storage_key, "rb") as stored:
        return stored.read()


def test_a_credible_surface_is_measured_in_millimetres(inspected):
    evidence = inspected(making.arch_stl(), **ARCH)

    assert (evidence.state, evidence.unit_factor, evidence.problem) == ("readable", "1", "")
    values = integrity_of(evidence)
    # A box: closed form.
    assert values["extents_mm"] == [60, 45, 15]
    assert values["triangles"] == 12
    assert values["volume_mm3"] == pytest.approx(60 * 45 * 15)


@pytest.mark.parametrize(
    ("shrink", "unit", "factor"),
    [(1000, "metre", "1000"), (25.4, "inch", "25.4")],
    ids=["a11", "a43"],
)
def test_a11_a43_the_unit_is_asked_for_before_anything_is_measured(
    inspected, dentist, run_jobs, shrink, unit, factor
):
    small = making.binary_stl(box(60 / shrink, 45 / shrink, 15 / shrink))

    evidence = inspected(small, **ARCH)

    assert (evidence.state, evidence.unit_factor) == ("readable", "")
    assert f"The unit may be {unit}" in evidence.problem
    assert "before anything is measured" in evidence.problem
    assert not Measurement.objects.exists()
    assert integrity_of(evidence) is None

    services.settle_unit(evidence, by=dentist, unit=unit)
    run_jobs()
    evidence.refresh_from_db()

    assert (evidence.unit_factor, evidence.problem) == (factor, "")
    assert integrity_of(evidence)["extents_mm"] == pytest.approx([60, 45, 15], rel=1e-6)


def test_the_same_size_is_credible_for_a_part(inspected):
    evidence = inspected(making.binary_stl(box(10, 8, 6)), role="design_part", sites=("45",))

    assert (evidence.unit_factor, evidence.problem) == ("1", "")


def test_saying_that_a_part_is_an_arch_asks_for_the_unit_again(inspected, dentist, run_jobs):
    evidence = inspected(making.binary_stl(box(10, 8, 6)), role="design_part", sites=("45",))

    services.confirm_file(evidence, by=dentist, role="opposing_arch", jaw="upper")
    run_jobs()

    evidence.refresh_from_db()
    assert evidence.unit_factor == ""
    assert "state its unit" in evidence.problem
    assert Derived.objects.get().name.endswith("-upper-opposing_arch-1.stl")


def test_an_unknown_unit_is_refused(inspected, dentist):
    evidence = inspected(making.binary_stl(), **ARCH)

    with pytest.raises(Refused, match="Choose the unit"):
        services.settle_unit(evidence, by=dentist, unit="cubit")


def test_a40_an_open_surface_has_no_volume(inspected):
    evidence = inspected(making.binary_stl(sheet(cells=40, size=60.0)), **ARCH)

    values = integrity_of(evidence)
    assert values["triangles"] == 2 * 40 * 40
    assert values["volume_mm3"] is None
    assert values["no_volume_because"] == "the surface is open"


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("scan.stl", making.arch_stl(header=b"Testperson Alpha 1970-01-01")),
        ("scan.ply", making.text_ply(box(60, 45, 15), ["patient Testperson Alpha"])),
        (
            "scan.obj",
            b"# Testperson Alpha\no Testperson\nv 0 0 0\nv 60 0 0\nv 0 45 0\nv 0 0 15\n"
            b"f 1 3 2\nf 1 2 4\nf 1 4 3\nf 2 3 4\n",
        ),
    ],
)
def test_a39_the_copy_of_a_surface_has_no_name_and_equal_geometry(inspected, name, data):
    evidence = inspected(data, name, **ARCH)

    copy = Derived.objects.get(evidence=evidence)
    handed = bytes_of(copy)
    assert b"estperson" in data and b"estperson" not in handed
    assert copy.removed
    assert geometry_digest(read_mesh(handed)) == geometry_digest(read_mesh(data))
    assert copy.content_digest == geometry_digest(read_mesh(data))
    assert bytes_of(evidence) == data
    assert copy.name == f"{evidence.case.code}-upper-working_arch-1.{name[-3:]}"
    assert (copy.size_bytes, copy.storage_key) != (evidence.size_bytes, evidence.storage_key)


@pytest.mark.parametrize("file_format", ["JPEG", "PNG", "TIFF"])
def test_a_photograph_loses_place_name_and_day_but_no_pixel(inspected, file_format):
    from PIL import Image

    data = making.picture(file_format, exif=making.exif(turn=6))
    evidence = inspected(data, "photo.jpg", role="photograph")

    handed = bytes_of(Derived.objects.get(evidence=evidence))
    assert b"Testperson" in data and b"Testperson" not in handed
    assert b"2026" not in handed
    with Image.open(io.BytesIO(data)) as before, Image.open(io.BytesIO(handed)) as after:
        assert after.tobytes() == before.tobytes()
        # The library turns a TIFF while decoding, so that the copy stands upright.
        assert after.getexif().get(274, 1) == (1 if file_format == "TIFF" else 6)
        assert not after.getexif().get_ifd(34853)
    assert evidence.taken_on == date(2026, 3, 4)


def test_a_photograph_without_a_day_has_none(inspected):
    evidence = inspected(making.picture("JPEG"), "photo.jpg", role="photograph")

    assert evidence.taken_on is None


def test_a_radiograph_loses_its_patient_but_no_pixel(inspected, case):
    import pydicom

    data = making.dicom()
    evidence = inspected(data, "pa.dcm", role="radiograph", sites=("45",))

    handed = bytes_of(Derived.objects.get(evidence=evidence))
    for word in (b"estperson", b"CHART", b"19700101"):
        assert word in data and word not in handed
    before, after = (pydicom.dcmread(io.BytesIO(d)) for d in (data, handed))
    assert after.PixelData == before.PixelData
    assert (after.pixel_array == before.pixel_array).all()
    assert (after.PatientID, after.AcquisitionDate) == (case.code, "20260305")
    assert after.PixelSpacing == before.PixelSpacing
    assert after.StudyInstanceUID != before.StudyInstanceUID
    assert after.file_meta.MediaStorageSOPInstanceUID == after.SOPInstanceUID
    assert not [element for element in after if element.tag.is_private]
    assert evidence.taken_on == date(2026, 3, 5)


def test_a_series_stays_together_under_its_new_identifiers(inspected):
    import pydicom

    first = making.dicom()
    dataset = pydicom.dcmread(io.BytesIO(first))
    second = making.dicom(StudyInstanceUID=dataset.StudyInstanceUID, PixelData=bytes(48))
    inspected(first, "1.dcm", role="radiograph", sites=("45",))
    inspected(second, "2.dcm", role="radiograph", sites=("45",))

    one, two = (
        pydicom.dcmread(io.BytesIO(bytes_of(copy))) for copy in Derived.objects.order_by("pk")
    )
    assert one.StudyInstanceUID == two.StudyInstanceUID
    assert one.SOPInstanceUID != two.SOPInstanceUID


def test_a_radiograph_with_text_burned_in_stays(inspected):
    data = making.dicom(BurnedInAnnotation="YES")

    evidence = inspected(data, "pa.dcm", role="radiograph", sites=("45",))

    assert evidence.state == "readable"
    assert "burned into the picture" in evidence.problem
    assert not Derived.objects.exists()


def test_documents_stay_with_their_party(inspected):
    evidence = inspected(making.pdf(), "letter.pdf", role="report")

    assert evidence.state == "readable"
    assert not Derived.objects.exists()


def test_a_large_file_found_unreadable_later_is_kept_as_refused(
    inspected, monkeypatch, run_jobs
):
    monkeypatch.setattr("casework.evidence.formats.WHOLE_BYTES", 100)
    text = b"solid Testperson\nfacet normal 0 0 1\nouter loop\nvertex 1,5 0 0\n" + b" " * 200

    evidence = inspected(text, "Testperson.stl", **ARCH)

    assert evidence.state == "refused"
    assert evidence.problem.startswith("File 1 is written with a decimal comma")
    assert "estperson" not in evidence.problem
    assert not Measurement.objects.exists() and not Derived.objects.exists()


def test_no_word_of_the_file_is_stored_with_the_measures(inspected):
    part = b"mtllib Testperson.mtl\nv 0 0 0\nv 60 0 0\nv 0 45 0\nf 1 2 3\n"

    values = integrity_of(inspected(part, "scan.obj", **ARCH))

    assert [note["code"] for note in values["notes"]] == ["colour_file_missing", "open_surface"]
    assert "Testperson" not in str(values)


def test_a_file_that_failed_is_inspected_again_when_asked(
    inspected, dentist, run_jobs, monkeypatch
):
    def broken(*args):
        raise MemoryError("too little memory")

    with monkeypatch.context() as patch:
        patch.setattr("casework.evidence.inspection.look_at", broken)
        patch.setattr("casework.evidence.inspection.ATTEMPTS_MAX", 1)
        patch.setattr("orders.jobs.services.ATTEMPTS_MAX", 1)
        evidence = inspected(making.arch_stl(), **ARCH)
    assert evidence.state == "failed"
    assert "counts as not read" in evidence.problem
    assert Job.objects.get().state == "dead"

    services.inspect_again(evidence, by=dentist)
    run_jobs()

    evidence.refresh_from_db()
    assert (evidence.state, evidence.problem) == ("readable", "")
    with pytest.raises(Refused, match="no second inspection"):
        services.inspect_again(evidence, by=dentist)


def test_a_compressed_radiograph_keeps_its_stream(inspected):
    import pydicom
    from pydicom.uid import RLELossless

    made = pydicom.dcmread(io.BytesIO(making.dicom()))
    made.compress(RLELossless)
    packed = io.BytesIO()
    made.save_as(packed)

    inspected(packed.getvalue(), "pa.dcm", role="radiograph", sites=("45",))

    handed = pydicom.dcmread(io.BytesIO(bytes_of(Derived.objects.get())))
    assert handed.file_meta.TransferSyntaxUID == RLELossless
    assert (handed.pixel_array == made.pixel_array).all()


def test_an_inspection_that_runs_twice_writes_once(inspected, run_jobs):
    evidence = inspected(making.arch_stl(), **ARCH)
    job = Job.objects.get(kind="evidence.inspect")
    Job.objects.filter(pk=job.pk).update(state="waiting")

    run_jobs()

    assert Derived.objects.filter(evidence=evidence).count() == 1
    assert Measurement.objects.filter(evidence=evidence).count() == 1


def test_a_lost_claim_leaves_no_copy_behind(case, dentist, stored):
    services.receive_file(
        case, by=dentist, stream=io.BytesIO(making.arch_stl()), name="a.stl", slot=Slot(**ARCH)
    )
    from orders.jobs.services import Lost, claim

    job = claim(Job.objects.get().pk)
    Job.objects.filter(pk=job.pk).update(token="another")
    before = stored()

    with pytest.raises(Lost):
        services.inspect_file(job.subject_id, job)

    assert stored() == before
    assert not Derived.objects.exists()


def test_measured_values_can_be_hashed_as_facts(inspected):
    values = integrity_of(inspected(making.arch_stl(), **ARCH))

    assert len(digest_of(as_facts(values))) == 64


def test_twins_in_one_case_share_the_measurement_but_not_the_bytes(inspected):
    upper = inspected(making.arch_stl(), **ARCH)
    lower = inspected(making.arch_stl(), role="opposing_arch", jaw="lower")

    assert integrity_of(upper) == integrity_of(lower) is not None
    assert upper.storage_key != lower.storage_key
