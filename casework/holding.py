"""How is a claimed job held while it runs, and what ends one that outlives its deadline?"""

import logging
import os
import threading
import time

from django.conf import settings
from django.db import connections

from orders.jobs.services import Lost, renew

logger = logging.getLogger(__name__)


class Holding:
    """Renews the lease of a job from a thread of its own until the job's code is done.

    Past the deadline the lease is renewed no more, and `on_overrun` is called: nothing in a
    thread can be stopped from outside, so a worker ends its process.
    """

    def __init__(self, job, on_overrun=None):
        self.job, self.on_overrun = job, on_overrun
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._hold, name=f"hold {job.pk}", daemon=True)

    def __enter__(self):
        self._thread.start()
        return self

    def __exit__(self, *exc_info):
        self._over.set()
        self._thread.join()

    def _hold(self):
        ends = time.monotonic() + settings.JOB_DEADLINE_S
        try:
            while not self._over.wait(self._pause(ends)):
                if time.monotonic() >= ends:
                    self._overrun()
                    return
                self._renew()
        finally:
            connections.close_all()

    def _pause(self, ends):
        return max(0.0, min(settings.JOB_LEASE_S / 3, ends - time.monotonic()))

    def _renew(self):
        try:
            renew(self.job)
        except Lost:
            # The job's own code finds out when it writes its result.
            self._over.set()
        except Exception as problem:
            logger.warning("the lease of %s was not renewed: %s", self.job, problem)

    def _overrun(self):
        logger.error("%s outlived its deadline", self.job)
        if self.on_overrun:
            self.on_overrun()


class Door:
    """Lets jobs in until it is closed; closing waits for those inside, for a while."""

    def __init__(self):
        self._changed = threading.Condition()
        self._inside, self._is_open = 0, True

    def enter(self):
        with self._changed:
            self._inside += self._is_open
            return self._is_open

    def leave(self):
        with self._changed:
            self._inside -= 1
            self._changed.notify_all()

    def close(self, seconds):
        with self._changed:
            self._is_open = False
            return self._changed.wait_for(lambda: not self._inside, seconds)


def end_process():
    """End the worker at once; whoever started it starts another, and the row is tried again."""
    os._exit(70)
