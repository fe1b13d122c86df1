"""A worker as the service starts it, with a kind of job that tests can hold and count."""

import os
import sys
import time
from pathlib import Path

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

KIND = "tests.hold"


def set_up():
    """Make the kind known; gives the app that `celery -A tests.worker` looks for."""
    django.setup()
    from casework.celery import app
    from casework.tasks import KINDS

    KINDS[KIND] = "tests.worker.hold_and_write"
    return app


def hold_and_write(subject_id, job):
    """Says that it began, waits while the file `hold` is there, and writes its one result."""
    from django.db import transaction

    from casework.audit.services import record
    from orders.jobs.services import finish

    folder = Path(os.environ["CASEWORK_DATA"])
    with (folder / "began").open("a") as began:
        began.write(f"{subject_id} {job.attempts} {os.getpid()}\n")
    while (folder / "hold").exists():
        time.sleep(0.02)
    with transaction.atomic():
        finish(job)
        record("paper.printed", subject=f"tests:{subject_id}", facts={"number": subject_id})


app = set_up()

if __name__ == "__main__":
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)
