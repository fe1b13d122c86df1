"""What every test finds ready: its own files, the standing cast, and a hand on the jobs."""

import json
from datetime import timedelta

import pytest
from django.core.files.storage import storages
from django.utils import timezone

from tests import factories


def pytest_collection_modifyitems(items):
    """Mark what touches the database, so that it can be run again on another one."""
    for item in items:
        names = set(getattr(item, "fixturenames", ()))
        if item.get_closest_marker("django_db") or names & {"db", "transactional_db"}:
            item.add_marker(pytest.mark.database)


@pytest.fixture(autouse=True)
def own_files(tmp_path, settings):
    """Files of one test are never seen by another."""
    settings.DATA = tmp_path
    settings.FILE_UPLOAD_TEMP_DIR = tmp_path / "incoming"
    settings.EMAIL_FILE_PATH = tmp_path / "mail"
    settings.STORAGES = settings.STORAGES | {
        "default": {
            "BACKEND": "django.core.files.storage.FileSystemStorage",
            "OPTIONS": {"location": tmp_path / "files"},
        }
    }
    yield
    storages._storages.clear()


@pytest.fixture(scope="session", autouse=True)
def measured_once():
    """A step of measuring that reads the same bytes and values again is not computed again.

    Hundreds of tests tell cases with the same invented scans. What a step reads is compared in
    full, so that nothing but time is saved.
    """
    from casework.measure.sets import plan

    known, run = {}, plan._run

    def once(planned, work):
        files = [work.told.file(name).told() for name in planned.files]
        reads = [planned.step, planned.version, planned.subject, files]
        before = [
            (work.handed[one], work.results[one]) for one in planned.after if one in work.handed
        ]
        key = json.dumps([*reads, plan.plain_told(dict(planned.told)), before], default=str)
        if key not in known:
            known[key] = run(planned, work)
        return known[key]

    plan._run = once
    yield
    plan._run = run


@pytest.fixture
def run_jobs(db):
    """Claims and runs due jobs in this process until none is left; returns how many ran."""

    def run():
        from casework.tasks import run_job
        from orders.jobs.services import sweep

        ran = 0
        while due := sweep():
            for job in due:
                run_job(job.pk)
                ran += 1
            assert ran < 500, "jobs beget jobs without end"
        return ran

    return run


@pytest.fixture
def practice(db):
    return factories.make_party("practice", name="Practice Under the Lime")


@pytest.fixture
def laboratory(practice):
    return factories.make_party("laboratory", name="Bench Four Laboratory", partner_of=practice)


@pytest.fixture
def other_practice(db):
    return factories.make_party("practice", name="Practice by the Weir")


@pytest.fixture
def other_laboratory(other_practice):
    return factories.make_party(
        "laboratory", name="Laboratory at the Mill", partner_of=other_practice
    )


@pytest.fixture
def dentist(practice):
    return factories.make_member(practice, "dentist", name="Dora Dentist")


@pytest.fixture
def assistant(practice):
    return factories.make_member(practice, "assistant", name="Asa Assistant")


@pytest.fixture
def front_desk(practice):
    return factories.make_member(practice, "front desk", name="Fenna Desk")


@pytest.fixture
def practice_admin(practice):
    return factories.make_member(practice, "administrator", name="Ada Admin")


@pytest.fixture
def technician(laboratory):
    return factories.make_member(laboratory, "technician", name="Timo Bench")


@pytest.fixture
def second_technician(laboratory):
    return factories.make_member(laboratory, "technician", name="Tilda Bench")


@pytest.fixture
def lab_lead(laboratory):
    return factories.make_member(laboratory, "coordinator", name="Lena Lead")


@pytest.fixture
def patient(practice):
    return factories.make_patient(practice)


@pytest.fixture
def case(dentist, laboratory, patient):
    """A case at planning with nothing recorded yet, its laboratory chosen."""
    return factories.make_case(dentist, laboratory=laboratory, patient=patient)


@pytest.fixture
def sign_in(client):
    """Signs a member in on the test's client and returns the client."""

    def enter(member, on=client):
        on.force_login(member.person, backend="django.contrib.auth.backends.ModelBackend")
        session = on.session
        session["membership"] = member.pk
        session.save()
        return on

    return enter


@pytest.fixture(scope="session")
def demo_files(request):
    """Small synthetic meshes; a quarter of the demo's size, kept for the next run."""
    from casework.demo.files import prepare_files
    from casework.demo.works import WORKS

    folder = request.config.cache.mkdir("demo-files")
    return prepare_files(folder, WORKS.values(), scale=0.25)


@pytest.fixture
def cast(db):
    """The invented parties and people of the demo."""
    from casework.demo.scenario import load_scenario

    return load_scenario()


@pytest.fixture
def tell(cast, demo_files, run_jobs):
    """Tells a case of the demo up to a step: tell("crown", "submit_design")."""
    from casework.demo.story import Story
    from casework.demo.works import WORKS

    def told(work="crown", last="follow_up", *, patient="bridge", days_ago=40):
        story = Story(
            cast,
            WORKS[work],
            cast.patients[patient],
            demo_files[WORKS[work].key],
            begun_at=timezone.now() - timedelta(days=days_ago),
            finish_jobs=run_jobs,
        )
        return story.run_to(last)

    return told
