"""Which files stand for the case as they came, and what leaves the practice of them?"""

from django.db import models


class Evidence(models.Model):
    """One file as it was received. Never altered; a better one supersedes it."""

    case = models.ForeignKey("casework.Case", models.PROTECT, related_name="evidence")
    # The party whose file it is, and who brought it.
    party = models.ForeignKey("orders.Party", models.PROTECT, related_name="+")
    received_by = models.ForeignKey("orders.Membership", models.PROTECT, related_name="+")
    received_at = models.DateTimeField()
    # Counts within the case: order follows it, never a clock.
    number = models.PositiveIntegerField()
    # What it is; evidence.rules.ROLES.
    role = models.CharField(max_length=30)
    # "upper", "lower", "both" or ""; ISO 3950 sites the file is about.
    jaw = models.CharField(max_length=5, blank=True)
    sites = models.JSONField(default=list, blank=True)
    # True once a person confirmed role, jaw and sites.
    is_confirmed = models.BooleanField(default=False)
    # As the person's computer called it; may hold a name, so it goes at erasure.
    original_name = models.CharField(max_length=255, blank=True)
    size_bytes = models.PositiveBigIntegerField()
    sha256 = models.CharField(max_length=64)
    storage_key = models.CharField(max_length=200)
    # "STL", "PLY", "OBJ", "DICOM", "JPEG", "PNG", "TIFF", "PDF", "text"
    format = models.CharField(max_length=12)
    # Day the scan, radiograph or photograph was taken, as stated or read.
    taken_on = models.DateField(null=True, blank=True)
    # Factor to millimetres once settled: "1", "25.4", "1000", ...; empty means not settled.
    unit_factor = models.CharField(max_length=12, blank=True)
    # "waiting", "inspecting", "readable", "refused", "failed"
    state = models.CharField(max_length=12, default="waiting")
    # A sentence where it was refused or needs an answer.
    problem = models.TextField(blank=True)
    superseded_by = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, related_name="supersedes"
    )
    superseded_at = models.DateTimeField(null=True, blank=True)
    # A processed scan names the raw one it was made of.
    made_from = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, related_name="processed"
    )
    note = models.TextField(blank=True)

    PERSONAL = ("original_name", "storage_key")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["case", "number"], name="one_number_per_file")
        ]
        indexes = [models.Index(fields=["case", "sha256"], name="files_by_digest")]

    def __str__(self):
        return f"file {self.number} of {self.case_id}"

    @property
    def subject(self):
        return f"{self._meta.label}:{self.pk}"

    @property
    def is_current(self):
        return self.superseded_at is None


class Derived(models.Model):
    """What leaves the party that brought the file: names and positions out, geometry equal."""

    evidence = models.OneToOneField(Evidence, models.PROTECT, related_name="derived")
    size_bytes = models.PositiveBigIntegerField()
    sha256 = models.CharField(max_length=64)
    storage_key = models.CharField(max_length=200)
    # Code-site-role with the format's ending.
    name = models.CharField(max_length=120)
    # What was taken out ("header", "comments", "position", ...), and the proof that the rest
    # is equal: digest over the geometry or the pixels of both.
    removed = models.JSONField(default=list)
    content_digest = models.CharField(max_length=64)

    PERSONAL = ()

    class Meta:
        verbose_name_plural = "derived files"

    def __str__(self):
        return self.name
