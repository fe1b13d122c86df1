"""How do tests differ from an installation? In speed, and in what may be emptied."""

import os
import tempfile
from pathlib import Path

os.environ.setdefault("CASEWORK_DATA", tempfile.mkdtemp(prefix="casework-tests-"))
os.environ.setdefault("SECRET_KEY", "only-for-tests")
# Test processes side by side share a broker; none takes another's messages.
os.environ.setdefault(
    "CASEWORK_QUEUE", f"casework-tests-{os.environ.get('PYTEST_XDIST_WORKER', 'alone')}"
)

from casework.settings import *  # noqa: F403
from casework.settings import DATABASES, STATIC_ROOT, STORAGES

AUDIT_MAY_BE_FLUSHED = True
# A process started by a test looks into that test's database.
if name := os.environ.get("CASEWORK_TEST_DATABASE"):
    DATABASES["default"]["NAME"] = name
if DATABASES["default"]["ENGINE"].endswith("postgresql"):
    # The trail's triggers let an emptying pass only with this session setting.
    DATABASES["default"]["OPTIONS"] = {"options": "-c casework.flushable=on"}
else:
    DATABASES["default"]["OPTIONS"]["timeout"] = 60
    # A file, so that other processes find it.
    DATABASES["default"]["TEST"] = {"NAME": Path(os.environ["CASEWORK_DATA"]) / "test.sqlite3"}

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
STORAGES = STORAGES | {
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
}
ALLOWED_HOSTS = ["testserver", "localhost", "127.0.0.1", "[::1]"]
# Whoever serves the static files warns where there is no folder.
STATIC_ROOT.mkdir(parents=True, exist_ok=True)
