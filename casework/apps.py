"""What is wired when the service starts: who listens, what is guarded, what is mis-set."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class CaseworkConfig(AppConfig):
    name = "casework"
    verbose_name = "Casework"

    def ready(self):
        from django.contrib.auth.signals import user_logged_in

        from casework import deployment  # noqa: F401  (registers the system checks)
        from casework.audit.services import record_announced
        from casework.audit.triggers import install_triggers
        from casework.cases.listeners import on_announced
        from casework.waking import wake_by_broker
        from orders.devices.sessions import on_signed_in
        from orders.events import happened

        wake_by_broker()
        happened.connect(record_announced, dispatch_uid="audit")
        happened.connect(on_announced, dispatch_uid="cases")
        user_logged_in.connect(on_signed_in, dispatch_uid="devices")
        post_migrate.connect(install_triggers, sender=self, dispatch_uid="audit triggers")
