"""What happened, in one chain that cannot be changed without being seen."""

from django.db import models


class Entry(models.Model):
    """One thing that happened. No foreign keys: the trail outlives what it speaks of."""

    # Position in the chain, counted from 1 without gaps.
    seq = models.PositiveBigIntegerField(primary_key=True)
    kind = models.CharField(max_length=60)
    at = models.DateTimeField()
    case = models.CharField(max_length=12, blank=True, db_index=True)
    subject = models.CharField(max_length=60)
    actor = models.CharField(max_length=60)
    actor_name = models.CharField(max_length=120)
    party_name = models.CharField(max_length=120, blank=True)
    # The canonical text that was hashed; it repeats every field above.
    text = models.TextField()
    previous = models.CharField(max_length=64)
    digest = models.CharField(max_length=64)

    PERSONAL = ()

    class Meta:
        verbose_name_plural = "entries"

    def __str__(self):
        return f"{self.seq} {self.kind}"


class ChainHead(models.Model):
    """The last link. Writers take this row in turn, last in their transaction."""

    seq = models.PositiveBigIntegerField(default=0)
    digest = models.CharField(max_length=64, default="0" * 64)

    PERSONAL = ()

    def __str__(self):
        return f"head at {self.seq}"
