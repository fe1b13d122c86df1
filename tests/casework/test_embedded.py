"""Does a real worker process do each job once, whoever is killed or away meanwhile?"""

import os
import signal
import socket
import subprocess
import sys
import threading
import time
import urllib.request
from contextlib import contextmanager
from pathlib import Path
from urllib.error import HTTPError
from urllib.parse import urlsplit

import pytest
from django.db import connection

from casework.audit.models import Entry
from casework.embedded import STOP_S, WorkerChild
from orders.jobs.models import Job
from orders.jobs.services import clock, enqueue
from tests.worker import KIND

pytestmark = [
    pytest.mark.worker,
    pytest.mark.django_db(transaction=True),
    pytest.mark.xdist_group("worker"),
]
ROOT = Path(__file__).resolve().parent.parent.parent
PROGRAM = (sys.executable, str(ROOT / "tests" / "worker.py"))
LEASE_S = 3
REDIS = os.environ.get("REDIS_URL", "").strip()


def wait_for(what, seconds=60):
    """What the function gives as soon as it is true; fails after a while."""
    ends = time.monotonic() + seconds
    while time.monotonic() < ends:
        if given := what():
            return given
        time.sleep(0.05)
    raise AssertionError(f"not within {seconds} s: {what}")


def state_of(job):
    return Job.objects.get(pk=job.pk).state


def is_done(job):
    return lambda: state_of(job) == "done"


def results_of(subject_id):
    return Entry.objects.filter(subject=f"tests:{subject_id}").count()


def is_alive(pid):
    """Whether the process runs; one that ended and was not waited for does not."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


@pytest.fixture
def environment(tmp_path, settings):
    settings.JOB_LEASE_S = LEASE_S
    return {
        "DJANGO_SETTINGS_MODULE": "tests.settings",
        "CASEWORK_TEST_DATABASE": str(connection.settings_dict["NAME"]),
        "CASEWORK_DATA": str(tmp_path),
        "CASEWORK_LEASE_S": str(LEASE_S),
        "SECRET_KEY": "only-for-tests",
    }


@pytest.fixture
def start_worker(environment):
    """Starts workers as the service does, and ends them."""
    started = []

    def start(**env):
        child = WorkerChild(command=PROGRAM, env=environment | env)
        child.start()
        started.append(child)
        return child

    yield start
    for child in started:
        child.stop()


@pytest.fixture
def start_process(environment):
    """Starts any other process on the test's database, and kills what is left of it."""
    started = []

    def start(*command, **env):
        process = subprocess.Popen(
            command,
            env={**os.environ, **environment, **env},
            cwd=ROOT,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            start_new_session=True,
        )
        started.append(process)
        return process

    yield start
    for process in started:
        try:
            os.killpg(process.pid, signal.SIGKILL)
        except ProcessLookupError:
            pass
        process.stdout.close()
        process.wait()


@pytest.fixture
def folder(tmp_path):
    return tmp_path


def hold(folder):
    (folder / "hold").touch()


def let_go(folder):
    (folder / "hold").unlink()


def begun(folder):
    """(subject, attempt, process) of every beginning."""
    path = folder / "began"
    lines = path.read_text().splitlines() if path.exists() else []
    return [tuple(map(int, line.split())) for line in lines]


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def test_a_worker_does_what_was_waiting_and_what_comes(start_worker):
    before = [enqueue(KIND, number) for number in (1, 2)]
    start_worker()
    wait_for(lambda: all(state_of(job) == "done" for job in before))

    began = time.monotonic()
    after = [enqueue(KIND, number) for number in range(3, 9)]
    wait_for(lambda: all(state_of(job) == "done" for job in after))

    # Six jobs in two lanes, woken: looking every two seconds would take longer.
    assert time.monotonic() - began < 5
    assert [results_of(number) for number in range(1, 9)] == [1] * 8


def test_a_job_that_fails_is_tried_again(start_worker):
    job = enqueue("tests.unknown", 1)
    start_worker()

    wait_for(lambda: Job.objects.get(pk=job.pk).attempts >= 2)

    assert "tests.unknown" in wait_for(lambda: Job.objects.get(pk=job.pk).error)


def test_a_job_longer_than_its_lease_is_not_begun_twice(start_worker, folder):
    hold(folder)
    job = enqueue(KIND, 1)
    start_worker()
    wait_for(lambda: begun(folder))

    time.sleep(LEASE_S + 2.5)
    let_go(folder)
    wait_for(is_done(job))

    assert len(begun(folder)) == 1
    assert results_of(1) == 1


def test_d14_a_worker_killed_in_the_middle_leaves_no_half_and_it_is_done_once(
    start_worker, folder
):
    hold(folder)
    jobs = [enqueue(KIND, number) for number in range(1, 5)]
    child = start_worker()
    wait_for(lambda: len(begun(folder)) == 2)
    first = child.pid

    os.kill(first, signal.SIGKILL)
    wait_for(lambda: child.pid != first)
    assert [results_of(number) for number in range(1, 5)] == [0] * 4
    let_go(folder)
    wait_for(lambda: all(state_of(job) == "done" for job in jobs))

    assert [results_of(number) for number in range(1, 5)] == [1] * 4
    tries = [Job.objects.get(pk=job.pk).attempts for job in jobs]
    assert sorted(tries) == [1, 1, 2, 2]


def test_a_job_that_outlives_its_deadline_is_ended_with_its_worker(
    start_worker, folder, settings
):
    settings.JOB_DEADLINE_S = 4
    hold(folder)
    job = enqueue(KIND, 1)
    child = start_worker(CASEWORK_DEADLINE_S="4")
    wait_for(lambda: begun(folder))
    first = child.pid

    wait_for(lambda: child.pid != first)
    let_go(folder)
    wait_for(is_done(job))

    assert not is_alive(first)
    assert results_of(1) == 1


def test_a_row_left_from_long_ago_does_not_end_the_worker(start_worker):
    """The machine was off over night while a job ran: it is taken up, nothing is killed."""
    job = enqueue(KIND, 1)
    long_ago = clock().replace(year=2020)
    Job.objects.filter(pk=job.pk).update(
        state="running", token="0" * 32, lease_until=long_ago, deadline_at=long_ago, attempts=1
    )
    child = start_worker()
    first = child.pid

    wait_for(is_done(job))

    assert child.pid == first
    assert results_of(1) == 1


def test_a_stopped_worker_ends_in_time_even_before_it_is_ready(start_worker):
    began, job = time.monotonic(), enqueue(KIND, 1)
    first = start_worker()
    wait_for(is_done(job))
    starting_s = time.monotonic() - began
    first.stop()
    for pause in (0, starting_s / 4, starting_s / 2):
        child = start_worker()
        pid = child.pid
        time.sleep(pause)

        began = time.monotonic()
        child.stop()

        # On a quiet machine far less than the time given to jobs that run.
        assert time.monotonic() - began < 4 + 3 * starting_s
        assert not is_alive(pid)


def test_a_worker_that_is_stopped_finishes_what_runs(start_worker, folder):
    hold(folder)
    job = enqueue(KIND, 1)
    child = start_worker()
    wait_for(lambda: begun(folder))

    threading.Timer(1.0, let_go, (folder,)).start()
    child.stop()

    assert state_of(job) == "done"
    assert results_of(1) == 1


def test_when_the_parent_is_gone_the_worker_ends(start_process, folder):
    job = enqueue(KIND, 1)
    parent = start_process(
        *PROGRAM[:1],
        "-c",
        "import sys, time, django; django.setup();"
        "from casework.embedded import WorkerChild;"
        f"child = WorkerChild(command={PROGRAM!r}); child.start();"
        "print(child.pid, flush=True); time.sleep(600)",
    )
    pid = int(parent.stdout.readline())
    wait_for(is_done(job))

    parent.kill()

    wait_for(lambda: not is_alive(pid), seconds=2 * STOP_S)


def test_a_worker_that_does_not_read_holds_nobody_up(start_worker):
    child = start_worker()
    os.kill(child.pid, signal.SIGSTOP)
    try:
        began = time.monotonic()
        for _ in range(200_000):
            child.wake()
        assert time.monotonic() - began < 30
    finally:
        os.kill(child.pid, signal.SIGCONT)


# The broker


@contextmanager
def relay_to(url, port):
    """A broker reached through a port of its own, which stays closed outside the block."""
    target = urlsplit(url)
    opened = []

    def copy(source, sink):
        try:
            while data := source.recv(65536):
                sink.sendall(data)
        except OSError:
            pass
        for end in (source, sink):
            try:
                end.shutdown(socket.SHUT_RDWR)
            except OSError:
                pass

    def accept():
        while True:
            try:
                near, _address = door.accept()
            except OSError:
                return
            far = socket.create_connection((target.hostname, target.port or 6379))
            opened.extend((near, far))
            for pair in ((near, far), (far, near)):
                threading.Thread(target=copy, args=pair, daemon=True).start()

    with socket.create_server(("127.0.0.1", port)) as door:
        threading.Thread(target=accept, daemon=True).start()
        yield
        door.shutdown(socket.SHUT_RDWR)
    for one in opened:
        one.close()


def test_d15_work_waits_while_the_broker_is_down_and_runs_when_it_is_back(
    start_process, start_worker
):
    """With a real broker the same workers find it again; else the setting is taken away."""
    port = free_port()
    database = urlsplit(REDIS).path if REDIS else "/0"
    down = f"redis://127.0.0.1:{port}{database}"
    program = (
        "import time, django; django.setup();"
        "from orders.jobs.services import enqueue;"
        "from django.db import connection; connection.ensure_connection();"
        "began = time.monotonic();"
        f"jobs = [enqueue({KIND!r}, n) for n in range(1, 6)];"
        "print(time.monotonic() - began, jobs[-1].state)"
    )

    web = start_process(sys.executable, "-c", program, REDIS_URL=down)
    said = web.communicate(timeout=60)[0].split()

    assert web.returncode == 0
    assert said[-1] == "waiting"
    assert float(said[-2]) < 0.5
    if REDIS:
        start_worker(REDIS_URL=down)
        time.sleep(4)
        assert not Entry.objects.exists()
        with relay_to(REDIS, port):
            wait_for(lambda: Entry.objects.count() == 5)
    else:
        start_worker()
        wait_for(lambda: Entry.objects.count() == 5)
    assert [results_of(number) for number in range(1, 6)] == [1] * 5


@pytest.mark.skipif(not REDIS, reason="REDIS_URL names no broker")
def test_d14_workers_of_the_grown_up_installation_do_each_job_once(start_process, folder):
    """Two processes of a pool, killed with it in the middle; a timetable that sweeps."""
    celery = (sys.executable, "-m", "celery", "-A", "tests.worker")
    pool = (*celery, "worker", "--pool", "prefork", "-c", "2", "-l", "WARNING")
    hold(folder)
    jobs = [enqueue(KIND, number) for number in range(1, 5)]
    start_process(*celery, "beat", "-s", str(folder / "timetable"), "-l", "WARNING")
    first = start_process(*pool)
    wait_for(lambda: len(begun(folder)) == 2)

    os.killpg(first.pid, signal.SIGKILL)
    let_go(folder)
    start_process(*pool)
    wait_for(lambda: all(state_of(job) == "done" for job in jobs))

    assert [results_of(number) for number in range(1, 5)] == [1] * 4


# The command that serves


def answer_of(port):
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    try:
        with opener.open(f"http://127.0.0.1:{port}/", timeout=10) as answer:
            return answer.status, answer.read().decode()
    except HTTPError as answer:
        with answer:
            return answer.code, answer.read().decode()
    except OSError:
        return None


def test_serve_answers_works_and_ends_when_interrupted(start_process):
    port, job = free_port(), enqueue(KIND, 1)
    serving = start_process(*PROGRAM, "serve", "--port", str(port))

    status, page = wait_for(lambda: answer_of(port))
    wait_for(is_done(job))
    began = time.monotonic()
    os.kill(serving.pid, signal.SIGINT)
    said = serving.communicate(timeout=30)[0]

    assert status == 200
    assert "<form" in page
    assert serving.returncode == 0, said
    assert time.monotonic() - began < 8
    assert said.strip().endswith("Ended.")


@pytest.mark.parametrize("pause", [0.0, 0.4])
def test_serve_ends_when_interrupted_before_its_worker_is_ready(start_process, pause):
    serving = start_process(*PROGRAM, "serve", "--port", str(free_port()))
    assert "serves on" in serving.stdout.readline()
    time.sleep(pause)

    began = time.monotonic()
    os.kill(serving.pid, signal.SIGTERM)
    said = serving.communicate(timeout=30)[0]

    assert serving.returncode == 0, said
    assert time.monotonic() - began < 8


def test_serve_says_that_an_address_is_taken(start_process):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        serving = start_process(*PROGRAM, "serve", "--port", str(port))
        said = serving.communicate(timeout=60)[0]

    assert serving.returncode == 1
    assert f"Cannot serve on 127.0.0.1:{port}" in said
    assert "Traceback" not in said
