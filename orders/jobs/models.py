"""What waits to be done in the background? The row is the truth, a message only wakes."""

from django.db import models


class Job(models.Model):
    """One act on one subject. A worker claims it for a while with a token of its own."""

    kind = models.CharField(max_length=60)
    subject_id = models.BigIntegerField()
    # "waiting", "running", "done", "dead"
    state = models.CharField(max_length=10, default="waiting")
    made_at = models.DateTimeField(auto_now_add=True)
    due_at = models.DateTimeField()
    attempts = models.PositiveSmallIntegerField(default=0)
    token = models.CharField(max_length=32, blank=True)
    lease_until = models.DateTimeField(null=True, blank=True)
    # Renewing the lease never moves this.
    deadline_at = models.DateTimeField(null=True, blank=True)
    done_at = models.DateTimeField(null=True, blank=True)
    progress = models.CharField(max_length=120, blank=True)
    error = models.TextField(blank=True)

    PERSONAL = ()

    class Meta:
        indexes = [
            models.Index(fields=["state", "due_at"], name="jobs_by_state"),
            models.Index(fields=["kind", "subject_id"], name="jobs_by_subject"),
        ]

    def __str__(self):
        return f"{self.kind} {self.subject_id} ({self.state})"
