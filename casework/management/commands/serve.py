"""Serves pages and does the background work: one command, nothing else to start."""

import signal
import sys
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from casework.audit.triggers import missing_triggers
from casework.embedded import WorkerChild
from casework.warming import warm_soon
from casework.wsgi import application

THREADS = 8


class Command(BaseCommand):
    help = "Migrate, then serve on one address with a worker beside it."

    def add_arguments(self, parser):
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument(
            "--no-worker", action="store_true", help="workers are run elsewhere"
        )

    def handle(self, *args, host, port, no_worker, **options):
        # A service manager's way to say Ctrl-C.
        signal.signal(signal.SIGTERM, signal.default_int_handler)
        child = None if no_worker else WorkerChild(command=this_program())
        try:
            prepare()
            server = bind(host, port)
            if child:
                child.start()
            warm_soon()
            self.stdout.write(f"Casework serves on http://{host}:{port}/ (Ctrl-C ends it)")
            self.stdout.flush()
            server.run()
        except KeyboardInterrupt:
            pass
        finally:
            # Ending takes a bounded while; pressing again would only cut it off.
            signal.signal(signal.SIGINT, signal.SIG_IGN)
            if child:
                child.stop()
        self.stdout.write("Ended.")


def prepare():
    """Bring the database and the static files up to date; refuse a trail without guards."""
    settings.DATA.mkdir(parents=True, exist_ok=True)
    Path(settings.FILE_UPLOAD_TEMP_DIR).mkdir(parents=True, exist_ok=True)
    call_command("migrate", verbosity=0, interactive=False)
    if missing := missing_triggers():
        raise CommandError(f"The audit trail's triggers are missing: {', '.join(missing)}.")
    call_command("collectstatic", verbosity=0, interactive=False)


def bind(host, port):
    """The server on its address, before anything else is started."""
    import waitress

    try:
        return waitress.create_server(
            application,
            host=host,
            port=port,
            threads=THREADS,
            max_request_body_size=2**32,
            channel_timeout=120,
            clear_untrusted_proxy_headers=True,
            ident=None,
        )
    except OSError as problem:
        raise CommandError(
            f"Cannot serve on {host}:{port}: {problem.strerror}. Try --port."
        ) from None


def this_program():
    """How this very program is started again."""
    return sys.executable, str(Path(sys.argv[0]).resolve())
