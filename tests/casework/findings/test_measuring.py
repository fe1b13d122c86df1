"""Is each thing measured once, kept whole, and shown to those who may see it?"""

import io

import pytest
from django.urls import reverse

from casework.cases.models import Case
from casework.evidence.receiving import Slot, receive_file
from casework.findings import measuring
from casework.findings.told import set_of
from casework.measurements.models import Measurement
from orders.jobs.models import Job
from orders.jobs.services import claim

pytestmark = pytest.mark.slow


@pytest.fixture
def told(tell):
    """A case whose scans are confirmed and measured."""
    story = tell("crown", "scan")
    story.finish_jobs()
    return story


def kept(case):
    return {
        (row.method, row.input_digest): row
        for row in Measurement.objects.filter(case=case, evidence=None)
    }


def test_confirmed_scans_are_measured_in_the_background(told):

    _set, done, waiting, _not_told = measuring.measured(told.case)

    assert waiting == []
    poses = [one for one in done if one.planned.step == "sites"][0].values["handed"]["poses"]
    assert list(poses) == ["36"] and poses["36"]["origin"] == "measured"


def test_measuring_again_writes_nothing(told):
    before = kept(told.case)
    started = []

    measuring.measure_missing(told.case, progress=started.append)

    assert started == []
    assert {key: row.pk for key, row in kept(told.case).items()} == {
        key: row.pk for key, row in before.items()
    }


def test_another_opposing_arch_measures_only_what_reads_it(told, demo_files):
    row, before = told.case.evidence.get(role="opposing_arch"), set(kept(told.case).values())
    other = [one for one in demo_files["front 11"].scans if one.role == "working_arch"]
    with other[0].path.open("rb") as stream:
        slot = Slot(role="opposing_arch", jaw="upper", taken_on=row.taken_on, replaces=row)
        receive_file(
            told.case, by=told.who("dentist"), stream=stream, name="upper.ply", slot=slot
        )
    told.finish_jobs()

    made = {one.method for one in set(kept(told.case).values()) - before}
    reading_it = {"scan", "regions", "jaws", "room", "frames", "bite_scan"}
    assert {"scan", "jaws"} <= made <= reading_it


def test_a_worker_that_ends_in_the_middle_leaves_whole_steps(told):
    Measurement.objects.filter(case=told.case, evidence=None).delete()

    def ends(planned):
        if planned.step == "sites":
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        measuring.measure_missing(told.case, progress=ends)

    steps = {key[0] for key in kept(told.case)}
    assert "scan_bodies" in steps and "sites" not in steps
    _told, _done, waiting, _not_told = measuring.measured(told.case)
    assert waiting

    measuring.measure_missing(told.case)
    assert measuring.measured(told.case)[2] == []


def test_the_job_says_what_it_measures_and_ends_once(told):
    job = Job.objects.filter(kind="findings.measure", subject_id=told.case.pk).last()
    assert job.state == "done"
    Measurement.objects.filter(case=told.case, evidence=None).delete()
    Job.objects.filter(pk=job.pk).update(state="waiting", due_at=told.at(0), attempts=0)

    measuring.measure_case(told.case.pk, claim(job.pk))

    job.refresh_from_db()
    assert job.state == "done" and measuring.measured(told.case)[2] == []


def test_the_page_shows_values_with_their_doubt(told, sign_in):
    client = sign_in(told.who("dentist"))

    page = client.get(reverse("case_measures", args=[told.case.code])).content.decode()

    assert "Scan bodies found in the scan" in page and "Platform centre" in page
    assert "µm" in page and "ISO 36" in page


def test_a_draft_is_measured_for_the_laboratory_alone(tell, sign_in):
    told = tell("crown", "design")
    measuring.measure_missing(told.case)
    address = reverse("case_measures", args=[told.case.code])

    bench = sign_in(told.who("technician")).get(address).content.decode()
    chair = sign_in(told.who("dentist")).get(address).content.decode()

    assert "Clearance to the opposing jaw" in bench
    assert "Clearance to the opposing jaw" not in chair


def files_of(case):
    told, keys = set_of(case)
    assert set(keys) == {file.name for file in told.files}
    return {(file.role, file.jaw): (file.name, file.of) for file in told.files}


def test_a_processed_scan_stands_for_its_raw_one_and_is_held_against_it(told, demo_files):
    raw = told.case.evidence.get(role="working_arch")
    before = files_of(told.case)
    with demo_files["crown 36"].scans[1].path.open("rb") as stream:
        slot = Slot(role="working_arch", jaw=raw.jaw, taken_on=raw.taken_on, made_from=raw)
        receive_file(told.case, by=told.who("dentist"), stream=stream, name="b.ply", slot=slot)
    told.finish_jobs()

    after = files_of(told.case)
    new = told.case.evidence.get(made_from=raw)
    assert before["working_arch", raw.jaw] == (f"file {raw.number}", "")
    assert after["working_arch", raw.jaw] == (f"file {new.number}", "")
    assert after["raw_scan", raw.jaw] == (f"file {raw.number}", f"file {new.number}")
    done = measuring.measured(told.case)[1]
    assert ("processed", f"file {new.number}") in {
        (one.planned.step, one.planned.subject) for one in done
    }


def test_what_another_case_measured_on_the_same_bytes_is_taken_over(tell, told):
    other, started = tell("crown", "scan", patient="one").case, []
    Measurement.objects.filter(case=other, evidence=None).delete()

    measuring.measure_missing(other, progress=started.append)

    assert started == [] and measuring.measured(other)[2] == []
    mine, theirs = kept(told.case), kept(other)
    assert {key: row.values for key, row in theirs.items()} == {
        key: row.values for key, row in mine.items()
    }


@pytest.fixture
def again(tell, told, demo_files):
    """A second case of the same patient, with the same scans but those with scan bodies."""
    story = tell("crown", "open")
    for scan in demo_files["crown 36"].scans:
        if scan.role in ("working_arch", "opposing_arch"):
            with scan.path.open("rb") as stream:
                receive_file(
                    story.case, by=story.who("dentist"), stream=stream, name=scan.path.name,
                    slot=Slot(role=scan.role, jaw=scan.jaw),
                )  # fmt: skip
    return story


def test_teeth_are_held_against_those_of_the_patients_earlier_case(told, again):
    again.finish_jobs()

    files = files_of(again.case)
    assert not any(role == "earlier_scan" for role, _jaw in files_of(told.case))
    assert files["earlier_scan", "lower"][0] == "earlier scan of the lower jaw"
    results = [
        result
        for one in measuring.measured(again.case)[1]
        if one.planned.step == "earlier"
        for result in one.values["results"]
    ]
    shares = [one["value"] for one in results if one["quantity"] == "earlier_scan_share"]
    assert len(shares) == 2 and min(shares) > 0.9


def test_a_case_sent_for_the_wrong_patient_shows_no_teeth_of_this_one(told, again):
    Case.objects.filter(pk=told.case.pk).update(wrong_patient_at=told.at(0))
    again.finish_jobs()

    assert not any(role == "earlier_scan" for role, _jaw in files_of(again.case))


def stated(story, content):
    """What the step of the sites says once a list of poses stands in the case."""
    before = story.case.evidence.filter(role="stated_poses", superseded_at=None).first()
    receive_file(
        story.case, by=story.who("technician"), stream=io.BytesIO(content), name="poses.txt",
        slot=Slot(role="stated_poses", replaces=before),
    )  # fmt: skip
    story.finish_jobs()
    measuring.measure_missing(story.case)
    (step,) = [one for one in measuring.measured(story.case)[1] if one.planned.step == "sites"]
    return {row["quantity"]: row for row in step.values["results"]}


def test_poses_that_the_design_program_states_are_held_against_the_scan(tell):
    story = tell("crown", "design")
    measuring.measure_missing(story.case)
    (step,) = [one for one in measuring.measured(story.case)[1] if one.planned.step == "sites"]
    pose = step.values["handed"]["poses"]["36"]
    x, y, z = pose["origin_mm"]
    axis = "{} {} {}".format(*pose["axis"])

    same = stated(story, f"36 {x} {y} {z} {axis}".encode())
    assert same["stated_pose_shift"]["value"] == pytest.approx(0.0, abs=1e-9)
    assert same["stated_pose_tilt"]["value"] == pytest.approx(0.0, abs=1e-4)

    moved = stated(story, f"36 {x + 0.3} {y} {z} {axis}".encode())
    assert moved["stated_pose_shift"]["value"] == pytest.approx(0.3, abs=1e-9)

    wrong = stated(story, b"36 1 2 3")["stated_pose_shift"]
    assert wrong["value"] is None and "cannot be read: in line 1" in wrong["because"]

    other = stated(story, b"46 1 2 3 0 0 1")["stated_pose_shift"]
    assert other["value"] is None and "names no pose there" in other["because"]
