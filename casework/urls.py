"""Which addresses are there? Each topic lists its own; they are gathered here."""

from django.urls import include, path

TOPICS = (
    "orders.parties",
    "orders.devices",
    "casework.boards",
    "casework.cases",
    "casework.erasing",
    "casework.records",
    "casework.readings",
    "casework.evidence",
    "casework.body_forms",
    "casework.designs",
    "casework.fabrication",
    "casework.visits",
    "casework.schedule",
    "casework.questions",
    "casework.findings",
    "casework.viewer",
    "casework.documents",
    "casework.handoffs",
)

urlpatterns = [path("", include(f"{topic}.urls")) for topic in TOPICS]
