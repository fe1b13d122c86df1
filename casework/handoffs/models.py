"""What was handed to whom, with which manifest, signed by whom, and how was it answered?"""

from django.db import models
from django.db.models import Q


class Handoff(models.Model):
    """One move that was made or offered. An open one stays with the sender until answered."""

    case = models.ForeignKey("casework.Case", models.PROTECT, related_name="handoffs")
    number = models.PositiveIntegerField()
    move = models.CharField(max_length=30)
    source = models.CharField(max_length=20)
    target = models.CharField(max_length=20)
    from_party = models.ForeignKey("orders.Party", models.PROTECT, related_name="+")
    to_party = models.ForeignKey(
        "orders.Party", models.PROTECT, null=True, blank=True, related_name="+"
    )
    # "offered", "accepted", "returned", "withdrawn", "made" (at once or within one side)
    state = models.CharField(max_length=10)
    offered_by = models.ForeignKey("orders.Membership", models.PROTECT, related_name="+")
    offered_at = models.DateTimeField()
    reason = models.TextField(blank=True)
    # One press of the button, so that a second one points to the first.
    token = models.CharField(max_length=40, blank=True)
    # Canonical text of what was handed over, and its digest.
    manifest = models.TextField(blank=True)
    manifest_digest = models.CharField(max_length=64, blank=True)
    # Grows with every amendment to the open offer.
    manifest_number = models.PositiveSmallIntegerField(default=1)
    # Digest of each stored file, read again for the receiver: {"3": "ab12..." or "missing"}.
    verified = models.JSONField(null=True, blank=True)
    answered_by = models.ForeignKey(
        "orders.Membership", models.PROTECT, null=True, blank=True, related_name="+"
    )
    answered_at = models.DateTimeField(null=True, blank=True)
    # When the other side took up work that was handed over at once.
    taken_up_at = models.DateTimeField(null=True, blank=True)
    taken_up_by = models.ForeignKey(
        "orders.Membership", models.PROTECT, null=True, blank=True, related_name="+"
    )

    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["case", "number"], name="one_number_per_handoff"),
            models.UniqueConstraint(
                fields=["case"], condition=Q(state="offered"), name="one_open_offer"
            ),
            models.UniqueConstraint(
                fields=["case", "token"],
                condition=~Q(token=""),
                name="one_handoff_per_press",
            ),
        ]
        indexes = [models.Index(fields=["to_party", "state"], name="offers_by_receiver")]

    def __str__(self):
        return f"{self.move} {self.number} of case {self.case_id} ({self.state})"

    @property
    def subject(self):
        return f"{self._meta.label}:{self.pk}"

    @property
    def is_open(self):
        return self.state == "offered"


class HandedFile(models.Model):
    """One file in a manifest: what lets the receiver see and download it."""

    handoff = models.ForeignKey(Handoff, models.PROTECT, related_name="files")
    evidence = models.ForeignKey("casework.Evidence", models.PROTECT, related_name="handed")
    # The digest of the bytes the receiver gets: the derived file's where there is one.
    sha256 = models.CharField(max_length=64)
    name = models.CharField(max_length=120)

    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["handoff", "evidence"], name="one_line_per_handed_file"
            )
        ]

    def __str__(self):
        return self.name


class ReturnReason(models.Model):
    """One reason for returning an offer: will the record do, or is the patient needed?"""

    handoff = models.ForeignKey(Handoff, models.PROTECT, related_name="return_reasons")
    text = models.TextField()
    # "patient needed", "record only"
    needs = models.CharField(max_length=16)
    # A check's name or a subject the reason is about, where there is one.
    about = models.CharField(max_length=80, blank=True)

    PERSONAL = ()

    def __str__(self):
        return f"{self.needs}: {self.text[:40]}"


class Condition(models.Model):
    """What an acceptance was made subject to, and the move before which it must be met."""

    handoff = models.ForeignKey(Handoff, models.PROTECT, related_name="conditions")
    text = models.TextField()
    # Name of the move that waits for it: "send_to_milling", "submit_design", "dispatch..."
    before_move = models.CharField(max_length=30)
    met_at = models.DateTimeField(null=True, blank=True)
    met_by = models.ForeignKey(
        "orders.Membership", models.PROTECT, null=True, blank=True, related_name="+"
    )
    answer = models.TextField(blank=True)

    PERSONAL = ()

    def __str__(self):
        return self.text[:60]


class Signature(models.Model):
    """A person agreed to a sentence about a manifest, with the password entered again."""

    case = models.ForeignKey("casework.Case", models.PROTECT, related_name="signatures")
    handoff = models.ForeignKey(Handoff, models.PROTECT, related_name="signatures")
    by = models.ForeignKey("orders.Membership", models.PROTECT, related_name="+")
    by_name = models.CharField(max_length=120)
    role = models.CharField(max_length=20)
    licence_number = models.CharField(max_length=60, blank=True)
    sentence = models.TextField()
    # What it covers: the manifest's digest, and the subject signed (prescription or design).
    manifest_digest = models.CharField(max_length=64)
    subject = models.CharField(max_length=60)
    subject_digest = models.CharField(max_length=64)
    at = models.DateTimeField()
    # A later change or a reopened stage takes its force, never the row.
    voided_at = models.DateTimeField(null=True, blank=True)
    void_reason = models.TextField(blank=True)

    PERSONAL = ()

    def __str__(self):
        return f"{self.by_name}: {self.sentence[:60]}"


class Notice(models.Model):
    """One thing one member is told, in the program and by mail without patient data."""

    member = models.ForeignKey("orders.Membership", models.PROTECT, related_name="notices")
    case = models.ForeignKey("casework.Case", models.PROTECT, related_name="notices")
    # The event it tells of; together with the member it exists once.
    event = models.CharField(max_length=80)
    text = models.TextField()
    made_at = models.DateTimeField()
    read_at = models.DateTimeField(null=True, blank=True)
    mailed_at = models.DateTimeField(null=True, blank=True)
    mail_problem = models.TextField(blank=True)

    PERSONAL = ()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["member", "event"], name="told_once")]
        indexes = [models.Index(fields=["member", "read_at"], name="unread_notices")]

    def __str__(self):
        return self.text[:60]
