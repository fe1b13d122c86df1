"""Which versions of the design exist, made of which parts, and what was marked on them?"""

from django.db import models


class DesignVersion(models.Model):
    """One version. Its digest covers every part; a changed part is another version."""

    case = models.ForeignKey("casework.Case", models.PROTECT, related_name="designs")
    number = models.PositiveIntegerField()
    # "draft", "submitted", "approved", "returned", "voided", "superseded"
    state = models.CharField(max_length=12, default="draft")
    notes = models.TextField(blank=True)
    made_by = models.ForeignKey("orders.Membership", models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    submitted_at = models.DateTimeField(null=True, blank=True)
    # Digest over parts and notes, fixed when it is submitted.
    digest = models.CharField(max_length=64, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    end_reason = models.TextField(blank=True)

    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["case", "number"], name="one_number_per_version")
        ]

    def __str__(self):
        return f"version {self.number} of case {self.case_id}"

    @property
    def subject(self):
        return f"{self._meta.label}:{self.pk}"

    def facts(self):
        return {"number": self.number, "state": self.state, "notes": self.notes}


class DesignPart(models.Model):
    """One part of a version: a mesh that will be made, or a stock part by number."""

    version = models.ForeignKey(DesignVersion, models.PROTECT, related_name="parts")
    # "custom abutment", "bridge", "crown", "base", "retaining screw", "try-in screw"
    kind = models.CharField(max_length=20)
    sites = models.JSONField(default=list)
    # Made parts have a file, stock parts a component.
    evidence = models.ForeignKey(
        "casework.Evidence", models.PROTECT, null=True, blank=True, related_name="design_parts"
    )
    component = models.ForeignKey(
        "orders.Component", models.PROTECT, null=True, blank=True, related_name="+"
    )
    material = models.ForeignKey(
        "orders.Material", models.PROTECT, null=True, blank=True, related_name="+"
    )

    PERSONAL = ()

    def __str__(self):
        return f"{self.kind} {', '.join(self.sites)}"

    def facts(self):
        return {
            "kind": self.kind,
            "sites": self.sites,
            "sha256": self.evidence.sha256 if self.evidence else None,
            "file_number": self.evidence.number if self.evidence else None,
            "component": str(self.component) if self.component else None,
            "material": str(self.material) if self.material else None,
        }


class ReviewMark(models.Model):
    """What the dentist wants changed, said about one version and, where given, one part."""

    version = models.ForeignKey(DesignVersion, models.PROTECT, related_name="marks")
    part = models.ForeignKey(DesignPart, models.PROTECT, null=True, blank=True)
    text = models.TextField()
    # A place on the surface in the frame of the scans, mm, and the way it faces there.
    place_mm = models.JSONField(null=True, blank=True)
    facing = models.JSONField(null=True, blank=True)
    made_by = models.ForeignKey("orders.Membership", models.PROTECT, related_name="+")
    made_at = models.DateTimeField()

    PERSONAL = ()

    def __str__(self):
        return f"mark on version {self.version_id}"
