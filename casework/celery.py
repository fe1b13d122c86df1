"""How does a worker find its tasks?"""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "casework.settings")
app = Celery("casework")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.conf.imports = ("casework.tasks",)
