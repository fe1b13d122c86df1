"""Where does background work enter, and what runs by the clock? Found by name from job rows."""

import logging
from importlib import import_module

from django.db import close_old_connections

from casework.celery import app
from casework.holding import Door, Holding, end_process
from casework.waking import publish_due
from orders.jobs.services import Lost, claim, fail

logger = logging.getLogger(__name__)

# Kind of job: the service that does it, called with the subject's id and the claimed job.
KINDS = {
    "evidence.inspect": "casework.evidence.services.inspect_file",
    "previews.make": "casework.previews.making.make_preview",
    "findings.gate": "casework.findings.services.run_gate",
    "findings.measure": "casework.findings.measuring.measure_case",
    "papers.print": "orders.documents.services.print_paper",
    "notices.mail": "casework.handoffs.notices.mail_notice",
    "devices.forget_typed": "orders.devices.services.forget_typed",
    "parties.reset_mail": "orders.parties.services.send_reset_mail",
}

SWEEP_S = 5.0
app.conf.beat_schedule = {"sweep": {"task": "casework.tasks.sweep_jobs", "schedule": SWEEP_S}}

# Closed when this process is about to end.
door = Door()


def service_of(kind):
    module, _dot, name = KINDS[kind].rpartition(".")
    return getattr(import_module(module), name)


def run_job(job_id, *, on_overrun=None):
    """Claim one job and do it. Whoever comes second finds nothing to claim."""
    job = claim(job_id)
    if job is None:
        return
    try:
        with Holding(job, on_overrun):
            service_of(job.kind)(job.subject_id, job)
    except Lost:
        logger.warning("%s was taken over or ended; its result was dropped", job)
    except Exception as problem:
        logger.exception("%s failed", job)
        fail(job, f"{type(problem).__name__}: {problem}")


@app.task(name="casework.tasks.do_job")
def do_job(job_id):
    if not door.enter():
        return
    try:
        close_old_connections()
        run_job(job_id, on_overrun=end_process)
    finally:
        close_old_connections()
        door.leave()


@app.task(name="casework.tasks.sweep_jobs")
def sweep_jobs():
    """Publish whatever waits: nothing is lost with a message."""
    close_old_connections()
    try:
        publish_due()
    finally:
        close_old_connections()
