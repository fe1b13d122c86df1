"""Does the audit trail hold? Names the first broken entry."""

from django.core.management.base import BaseCommand, CommandError

from casework.audit.models import ChainHead
from casework.audit.queries import first_break
from casework.audit.triggers import missing_triggers


class Command(BaseCommand):
    help = "Verify the audit trail and name the first broken entry."

    def add_arguments(self, parser):
        parser.add_argument("--head", default="", help="digest of a head saved earlier")

    def handle(self, *args, head, **options):
        if missing := missing_triggers():
            raise CommandError(
                f"The database lacks the triggers {', '.join(missing)}: run `migrate` again."
            )
        if broken := first_break(head):
            raise CommandError(f"The chain breaks at entry {broken.seq}: {broken.why}.")
        last = ChainHead.objects.get(pk=1)
        self.stdout.write(f"{last.seq} entries hold. Head: {last.digest}")
