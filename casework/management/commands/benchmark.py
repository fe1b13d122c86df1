"""Measures what was promised about speed, on a database and in a folder of its own."""

import os
import subprocess
import sys

from django.core.management.base import BaseCommand, CommandError

from casework.benchmark import inspecting, measures, places
from casework.management.commands.serve import this_program

INSIDE = "CASEWORK_BENCHMARK"
NEED_NO_PLACE = ("inspect", "measure", "accuracy")


class Command(BaseCommand):
    help = "Measure speed and accuracy. Times are ratios in one run."
    requires_system_checks = []

    def add_arguments(self, parser):
        parts = parser.add_subparsers(dest="part", required=True)
        part = parts.add_parser("inspect", help="a scan's inspection beside trimesh")
        part.add_argument("--triangles", type=int, default=500_000)
        part.add_argument("--runs", type=int, default=5)
        part = parts.add_parser("measure", help="each measure beside a general-purpose way")
        part.add_argument("topic", nargs="*")
        part.add_argument("--scale", type=float, default=1.0, help="share of the full size")
        part = parts.add_parser("accuracy", help="errors of each measure against known truth")
        part.add_argument("topic", nargs="*")
        part.add_argument("--seeds", type=int, default=30)
        part = parts.add_parser("upload", help="the memory of one large upload")
        part.add_argument("--megabytes", type=int, default=200)
        part = parts.add_parser("boards", help="every board with many open cases")
        part.add_argument("--cases", type=int, nargs="+", default=[10_000, 100_000])
        part.add_argument("--runs", type=int, default=21)
        part = parts.add_parser("gate", help="checks of a move, from the press to the page")
        part.add_argument("--runs", type=int, default=20)

        part = parts.add_parser("look", help="a large scan in a browser, and its preview")
        part.add_argument("--triangles", type=int, default=570_000)
        part.add_argument("--runs", type=int, default=5)

    def handle(self, *args, part, **options):
        if part not in NEED_NO_PLACE and INSIDE not in os.environ:
            self._start_apart()
            return
        try:
            kept = getattr(self, f"_{part}")(**options)
        except (inspecting.LibraryMissing, ValueError) as problem:
            raise CommandError(str(problem)) from None
        if not kept:
            raise CommandError("Not every promise was kept; see above.")

    def _start_apart(self):
        """Run the same command in a process that sees nothing of this installation."""
        try:
            with places.own_place(os.environ) as environ:
                command = [*this_program(), *sys.argv[1:]]
                code = subprocess.run(command, env=environ | {INSIDE: "yes"}).returncode
        except places.PlaceRefused as refused:
            raise CommandError(str(refused)) from None
        if code:
            raise SystemExit(code)

    def _inspect(self, *, triangles, runs, **options):
        return inspecting.measure(triangles, runs, self._say)

    def _measure(self, *, topic, scale, **options):
        return measures.print_ratios(topic, scale, self._say)

    def _accuracy(self, *, topic, seeds, **options):
        return measures.print_accuracy(topic, seeds, self._say)

    def _upload(self, *, megabytes, **options):
        from casework.benchmark import uploading

        return uploading.measure(megabytes, self._say)

    def _boards(self, *, cases, runs, **options):
        from casework.benchmark import paging

        return paging.measure(cases, runs, self._say)

    def _gate(self, *, runs, **options):
        from casework.benchmark import gating

        return gating.measure(runs, this_program(), self._say)

    def _look(self, *, triangles, runs, **options):
        from casework.benchmark import looking

        return looking.measure(triangles, runs, self._say)

    def _say(self, line):
        self.stdout.write(line)
        self.stdout.flush()
