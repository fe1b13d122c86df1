"""Writes the pages that are made from the tables: stages, checks, limits."""

from django.conf import settings
from django.core.management.base import BaseCommand

from casework.writing_docs import PAGES


class Command(BaseCommand):
    help = "Write docs/stages.md, docs/checks.md and docs/limits.md from the tables."

    def handle(self, *args, **options):
        for name, page in PAGES.items():
            path = settings.BASE / "docs" / name
            path.write_text(page())
            self.stdout.write(f"wrote docs/{name}")
