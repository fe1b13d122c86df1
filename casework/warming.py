"""What is made ready before the first job or upload asks for it?"""

import logging
import threading

logger = logging.getLogger(__name__)


def warm_soon():
    """Load the checks and compile the mesh loops beside whatever the process does first."""
    threading.Thread(target=_warm, name="warm up", daemon=True).start()


def _warm():
    try:
        from casework import checks
        from casework.measure.warming import warm_up

        for name in checks.all_names():
            checks.load(name)
        warm_up()
    except Exception:
        logger.exception("warming up failed; the first job does it")
