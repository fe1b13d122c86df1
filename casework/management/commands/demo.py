"""Runs a whole invented case through the program's own code, then serves it."""

import json
import signal
import time
from datetime import timedelta

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from casework.cases.models import Case
from casework.demo.files import prepare_files
from casework.demo.others import tell_others
from casework.demo.scenario import load_scenario
from casework.demo.showing import write_summary
from casework.demo.story import Story, StoryStopped
from casework.demo.works import BRIDGE, CROWN, FRONT
from casework.embedded import WorkerChild
from casework.management.commands.serve import bind, prepare, this_program
from casework.stages import Stage
from orders.jobs.models import Job

# The main case is told as one that began so long ago.
BEGAN_DAYS_AGO = 30
WAIT_S = 180


class Command(BaseCommand):
    help = "Load the invented scenario, run a whole case, write its papers, serve the site."

    def add_arguments(self, parser):
        parser.add_argument("--no-serve", action="store_true", help="end after the run")
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--scale", type=float, default=1.0, help="size of the meshes")

    def handle(self, *args, no_serve, host, port, scale, **options):
        started = time.monotonic()
        signal.signal(signal.SIGTERM, signal.default_int_handler)
        child = WorkerChild(command=this_program())
        reached = False
        try:
            prepare()
            # An address that is taken is said before the run, not after it.
            server = None if no_serve else bind(host, port)
            child.start()
            reached = self.run_or_remember(scale)
            took = time.monotonic() - started
            self.stdout.write(f"The run took {took:.0f} s.")
            if server:
                self.tell_sign_ins(host, port)
                server.run()
        except KeyboardInterrupt:
            self.stdout.write("Ended.")
            return
        finally:
            # Ending takes a bounded while; pressing again would only cut it off.
            signal.signal(signal.SIGINT, signal.SIG_IGN)
            child.stop()
        if not reached:
            raise CommandError("The case did not reach recall.")

    def run_or_remember(self, scale):
        """Tell the story on the first run; afterwards say again what it said."""
        remembered = settings.DATA / "demo.json"
        cast = load_scenario()
        self.cast = cast
        if remembered.exists():
            told = json.loads(remembered.read_text())
            case = Case.objects.filter(order__code=told["code"]).first()
            if case:
                for stage, sentence in told["lines"]:
                    self.line(stage, sentence)
                self.stdout.write(f"Papers and summary: {told['summary']}")
                return case.stage in (Stage.RECALL, Stage.CLOSED)
        return self.run(cast, scale, remembered)

    def run(self, cast, scale, remembered):
        began = timezone.now() - timedelta(days=BEGAN_DAYS_AGO)
        self.line("set-up", "writing synthetic scans, designs and pictures")
        files = prepare_files(settings.DATA / "demo-files", (BRIDGE, CROWN, FRONT), scale=scale)
        lines = []

        def say(stage, sentence):
            lines.append((str(stage), sentence))
            self.line(stage, sentence)

        story = Story(
            cast,
            BRIDGE,
            cast.patients["bridge"],
            files[BRIDGE.key],
            begun_at=began,
            finish_jobs=finish_jobs,
            say=say,
        )
        try:
            story.run_to("follow_up")
        except StoryStopped as stopped:
            self.stderr.write(f"Stopped: {stopped}")
            return False
        finish_jobs()
        summary = write_summary(settings.DATA / "demo-papers", story, lines)
        self.stdout.write(f"Papers and summary: {summary}")
        told = tell_others(cast, files, finish_jobs)
        self.line("others", f"{told} more cases wait at their stages")
        remembered.write_text(
            json.dumps({"code": story.case.code, "lines": lines, "summary": str(summary)})
        )
        return story.case.stage == Stage.RECALL

    def tell_sign_ins(self, host, port):
        self.stdout.write(f"\nCasework serves on http://{host}:{port}/ (Ctrl-C ends it)")
        self.stdout.write(f"Sign in with the password {self.cast.password!r} as")
        for member in self.cast.members.values():
            where = f"{', '.join(member.roles)}, {member.party.name}"
            self.stdout.write(f"  {member.person.email:32} {where}")
        self.stdout.flush()

    def line(self, stage, sentence):
        self.stdout.write(f"{stage:>16}  {sentence}")
        self.stdout.flush()


def finish_jobs():
    """Wait until the worker has done whatever waits; a job that died ends the demo.

    A busy machine may take long: the demo ends only where nothing moves on for `WAIT_S`.
    """
    seen, end = None, 0.0
    open_jobs = Job.objects.filter(state__in=["waiting", "running"]).order_by("pk")
    while rows := list(open_jobs.values_list("pk", "state", "attempts", "progress")):
        if rows != seen:
            seen, end = rows, time.monotonic() + WAIT_S
        if time.monotonic() > end:
            raise CommandError("The worker did not move on; see its messages above.")
        time.sleep(0.1)
    if dead := Job.objects.filter(state="dead").first():
        raise CommandError(f"Background work failed: {dead.kind}: {dead.error}")
