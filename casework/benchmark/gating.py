"""How long from pressing "check" to reading what was found, with the embedded worker?"""

import statistics
import time

from django.urls import reverse

from casework.benchmark.cast import make_cast, make_database, open_case, signed_in
from casework.embedded import WorkerChild
from casework.findings.models import GateRun
from orders.jobs.models import Job

TARGET_S = 1.0
MOVE = "ready_to_scan"
# As often as the page asks whether the findings are there.
ASKED_EVERY_S = 0.4


def measure(runs, command, say):
    """Press so often, one after another; True where nineteen of twenty are in time."""
    make_database()
    cast = make_cast()
    dentist = cast.members["practice", "dentist"]
    child = WorkerChild(command=command)
    child.start()
    try:
        client = signed_in(dentist)
        cases = [open_case(cast, number) for number in range(runs + 1)]
        # The first finds a worker that still starts, and pages that were never read.
        first_s = _press(client, cases[0])
        times = [_press(client, case) for case in cases[1:]]
    finally:
        child.stop()
    middle, late = statistics.median(times), sorted(times)[int(0.95 * (len(times) - 1))]
    say(f"{runs} gates without meshes, from the press to the page with what was found")
    say(f"  median  {middle * 1000:6.0f} ms")
    say(f"  95 %    {late * 1000:6.0f} ms  (wanted: less than {TARGET_S * 1000:.0f})")
    say(
        f"  slowest {max(times) * 1000:6.0f} ms; the very first, worker starting,"
        f" {first_s * 1000:.0f} ms"
    )
    return late < TARGET_S


def _press(client, case):
    page = reverse("case_move", args=[case.code, MOVE])
    began = time.perf_counter()
    answer = client.post(page, {"do": "check"}, follow=True)
    _expect(answer.status_code == 200, f"{page} answered {answer.status_code}")
    run = GateRun.objects.filter(case=case).latest("pk")
    asks = reverse("case_gate", args=[case.code, run.pk])
    while "HX-Refresh" not in client.get(asks).headers:
        _expect(time.perf_counter() - began < 60, f"no findings: {_jobs()}")
        time.sleep(ASKED_EVERY_S)
    answer = client.get(page)
    took = time.perf_counter() - began
    _expect(answer.status_code == 200, f"{page} answered {answer.status_code}")
    _expect(run.check_runs.exists(), "no check left a row")
    return took


def _expect(is_so, sentence):
    if not is_so:
        raise RuntimeError(sentence)


def _jobs():
    return "; ".join(f"{job} {job.error}" for job in Job.objects.exclude(state="done"))
