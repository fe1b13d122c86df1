"""Do the boards show what the cases say? Writes every row of them anew."""

from django.core.management.base import BaseCommand

from casework.boards.services import write_summaries
from casework.cases.models import Case


class Command(BaseCommand):
    help = "Write the boards' rows of every case anew."

    def handle(self, *args, **options):
        count = 0
        for case in Case.objects.order_by("pk").iterator(chunk_size=500):
            write_summaries(case)
            count += 1
        self.stdout.write(f"The boards show {count} cases as they stand.")
