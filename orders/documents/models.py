"""Which papers were issued, saying what? Printing again prints the stored one."""

from django.db import models


class Paper(models.Model):
    """One issue of one paper: its frozen facts, and the print once a job has made it."""

    order = models.ForeignKey("orders.Order", models.PROTECT, related_name="papers")
    # The file's name under */documents.
    kind = models.CharField(max_length=40)
    number = models.CharField(max_length=40, unique=True)
    # What the paper is about ("casework.Handoff:3").
    subject = models.CharField(max_length=60)
    # Kinds of party that may read it, and the parties themselves.
    parties = models.ManyToManyField("orders.Party", related_name="+")
    issued_at = models.DateTimeField()
    issued_by = models.CharField(max_length=120)
    # Canonical text of everything the paper says, without a personal value.
    facts = models.TextField()
    facts_digest = models.CharField(max_length=64)
    # What only the print for the practice and the patient says; goes at erasure.
    personal = models.JSONField(null=True, blank=True)
    replaces = models.ForeignKey("self", models.PROTECT, null=True, blank=True)
    # "waiting", "printed", "failed"
    state = models.CharField(max_length=10, default="waiting")
    storage_key = models.CharField(max_length=200, blank=True)
    print_digest = models.CharField(max_length=64, blank=True)
    printed_at = models.DateTimeField(null=True, blank=True)
    problem = models.TextField(blank=True)

    PERSONAL = ("personal", "storage_key")

    def __str__(self):
        return f"{self.kind} {self.number}"
