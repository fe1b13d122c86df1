"""The child of `serve`: a real Celery worker fed from the job rows. Ends with its parent."""

import logging
import os
import signal
import sys
import threading
import warnings

from celery.beat import EmbeddedService
from celery.platforms import SecurityWarning
from django.core.management.base import BaseCommand

from casework.celery import app
from casework.embedded import GRACE_S, Feeder
from casework.tasks import door
from casework.warming import warm_soon

logger = logging.getLogger(__name__)
CONCURRENCY = 2


class Command(BaseCommand):
    help = "Run a worker until standard input ends."
    # The parent has checked the project; the child starts sooner without.
    requires_system_checks = []

    def handle(self, *args, **options):
        ended = threading.Event()
        signal.signal(signal.SIGTERM, lambda *args: ended.set())
        # Ctrl-C in the terminal is the parent's affair.
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        # It has the rights of its parent; messages come from no other process.
        warnings.simplefilter("ignore", SecurityWarning)
        warm_soon()
        Feeder(sys.stdin.buffer, ended.set).start()
        worker = app.Worker(
            pool="threads",
            concurrency=CONCURRENCY,
            loglevel="WARNING",
            without_mingle=True,
            without_gossip=True,
            quiet=True,
        )
        threading.Thread(target=_start, args=(worker,), daemon=True).start()
        # The timetable is kept in memory: what is due stands in rows.
        EmbeddedService(app, thread=True, scheduler_cls="celery.beat:Scheduler").start()
        ended.wait()
        # A job that is cut off is tried again from its row.
        door.close(GRACE_S)
        # A worker that is not ready yet, or waits for a broker that is gone, cannot be stopped.
        os._exit(0)


def _start(worker):
    try:
        worker.start()
    except Exception:
        logger.exception("the worker could not start")
        os._exit(1)
