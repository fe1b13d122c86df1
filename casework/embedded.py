"""How does one command serve a practice with nothing installed: a child does the work.

The parent serves pages; one child process runs a real Celery worker, on a broker in the child's
own memory (or on Redis, where one is named). The parent writes a byte into the child's standard
input to wake it; the end of that pipe tells the child that the parent is gone. Job rows are the
truth: a child that dies is started again, and one whose job outlives its deadline is ended.
"""

import logging
import os
import subprocess
import sys
import threading

from django.db import close_old_connections

from casework.waking import publish_due
from orders.jobs import services as jobs

logger = logging.getLogger(__name__)

LOOK_S = 2.0
# What runs may end by itself for so long when the service stops.
GRACE_S = 10.0
STOP_S = GRACE_S + 5.0


class WorkerChild:
    """The worker process as its parent holds it."""

    def __init__(self, *, command=(), env=None):
        self.command = [*(command or (sys.executable, "manage.py")), "work"]
        self.env = {**os.environ, **(env or {}), "OPENBLAS_NUM_THREADS": "1"}
        self.env |= {"OMP_NUM_THREADS": "1", "MKL_NUM_THREADS": "1"}
        self._process = None
        self._started_at = None
        self._lock = threading.Lock()
        self._ending = threading.Event()

    @property
    def pid(self):
        return self._process.pid

    def start(self):
        """Start the child and the thread that watches it."""
        self._spawn()
        jobs.on_wake(self.wake)
        threading.Thread(target=self._watch, name="watch worker", daemon=True).start()

    def _spawn(self):
        self._process = subprocess.Popen(
            self.command, stdin=subprocess.PIPE, env=self.env, start_new_session=True, bufsize=0
        )
        # A child that does not read must not hold up whoever wakes it: a full pipe is enough.
        os.set_blocking(self._process.stdin.fileno(), False)
        self._started_at = jobs.clock()

    def wake(self, job_id=None):
        """Tell the child to look for work; a child that is away looks when it is back."""
        with self._lock:
            try:
                self._process.stdin.write(b".")
            except (OSError, ValueError):
                logger.info("the worker is away; it looks for work when it is back")

    def _watch(self):
        while not self._ending.wait(LOOK_S):
            try:
                self._look()
            except Exception:
                logger.exception("looking after the worker failed; tried again")
            finally:
                close_old_connections()

    def _look(self):
        """End a child that hangs, start one again that ended."""
        if self._process.poll() is None and jobs.overdue_since(self._started_at):
            logger.error("a job outlived its deadline; the worker is started again")
            self._process.kill()
            self._process.wait()
        with self._lock:
            if self._process.poll() is not None and not self._ending.is_set():
                logger.warning("the worker ended (%s); started again", self._process.returncode)
                self._process.stdin.close()
                self._spawn()

    def stop(self):
        """End the child; what runs may finish, for a while."""
        self._ending.set()
        if self._process is None:
            return
        jobs.forget_waker(self.wake)
        with self._lock:
            self._process.stdin.close()
        self._process.terminate()
        try:
            self._process.wait(STOP_S)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()


class Feeder(threading.Thread):
    """In the child: turns waiting rows into messages, when woken and every few seconds."""

    def __init__(self, stream, end, *, publish=publish_due, every_s=LOOK_S):
        super().__init__(name="feed worker", daemon=True)
        self.stream, self.end, self.publish, self.every_s = stream, end, publish, every_s
        self._woken = threading.Event()

    def run(self):
        threading.Thread(target=self._listen, name="hear parent", daemon=True).start()
        while True:
            self._feed()
            self._woken.wait(self.every_s)
            self._woken.clear()

    def _listen(self):
        """Read the parent's bytes; their end is the parent's."""
        while self.stream.read(1):
            self._woken.set()
        self.end()

    def _feed(self):
        try:
            close_old_connections()
            self.publish()
        except Exception as problem:
            logger.warning("looking for work failed, tried again: %s", problem)
        finally:
            close_old_connections()
