"""Where does a case stand, who holds it, and what do the boards sort by?"""

from django.db import models
from django.db.models import Q

from casework.stages import FINAL, HELD_BY, Stage


class Case(models.Model):
    """One order on its way. `version` grows with every move, hold and assignment."""

    order = models.OneToOneField("orders.Order", models.PROTECT, related_name="case")
    stage = models.CharField(max_length=20, default=Stage.PLANNING)
    stage_since = models.DateTimeField()
    version = models.PositiveIntegerField(default=1)
    # On hold: why, and the day to look again.
    hold_reason = models.TextField(blank=True)
    hold_until = models.DateField(null=True, blank=True)
    # Given by the laboratory on accepting.
    promised_on = models.DateField(null=True, blank=True)
    # Set when a dentist saw that the wrong patient was sent: hidden from all others at once.
    wrong_patient_at = models.DateTimeField(null=True, blank=True)
    # Counts try-ins, so that they are numbered.
    try_in_count = models.PositiveSmallIntegerField(default=0)
    # A cancellation from fabrication on waits for the laboratory's acknowledgement.
    cancel_asked_at = models.DateTimeField(null=True, blank=True)
    cancel_reason = models.TextField(blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)

    PERSONAL = ()

    def __str__(self):
        return self.order.code

    @property
    def code(self):
        return self.order.code

    @property
    def subject(self):
        return f"{self._meta.label}:{self.pk}"

    @property
    def is_on_hold(self):
        return bool(self.hold_reason)

    @property
    def is_over(self):
        return self.stage in FINAL

    @property
    def held_by(self):
        return HELD_BY[Stage(self.stage)]


class CaseParty(models.Model):
    """A party on a case: on which side, since when it sees it, and who there is assigned."""

    case = models.ForeignKey(Case, models.PROTECT, related_name="parties")
    party = models.ForeignKey("orders.Party", models.PROTECT, related_name="+")
    # A stages.Side, or "placing practice".
    side = models.CharField(max_length=20)
    # Empty until something was offered to the party.
    seen_from = models.DateTimeField(null=True, blank=True)
    # Set when an offer was withdrawn before it was ever accepted, or for a wrong patient.
    hidden_at = models.DateTimeField(null=True, blank=True)
    assigned = models.ForeignKey(
        "orders.Membership", models.PROTECT, null=True, blank=True, related_name="+"
    )

    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["case", "side"], name="one_party_per_side")
        ]
        indexes = [models.Index(fields=["party", "hidden_at", "seen_from"], name="sees_case")]

    def __str__(self):
        return f"{self.party} on {self.case}"


class Summary(models.Model):
    """What boards sort and show of a case to one of its parties (`rebuild_boards`)."""

    case = models.ForeignKey(Case, models.CASCADE, related_name="summaries")
    # The reader: one row per party that sees the case, none for the others.
    party = models.ForeignKey("orders.Party", models.CASCADE, related_name="+")
    side = models.CharField(max_length=20)
    code = models.CharField(max_length=12, db_index=True)
    stage = models.CharField(max_length=20)
    stage_since = models.DateTimeField()
    teeth = models.CharField(max_length=80, blank=True)
    practice_name = models.CharField(max_length=120)
    laboratory_name = models.CharField(max_length=120, blank=True)
    assigned_name = models.CharField(max_length=120, blank=True)
    assigned = models.ForeignKey(
        "orders.Membership", models.CASCADE, null=True, blank=True, related_name="+"
    )
    # True where it is this party's turn; the name of what is to be done, and the section of a
    # board that gathers it (boards.rules).
    is_turn = models.BooleanField(default=False)
    turn = models.CharField(max_length=40, blank=True)
    section = models.CharField(max_length=12, blank=True)
    is_on_hold = models.BooleanField(default=False)
    is_open = models.BooleanField(default=True)
    is_rush = models.BooleanField(default=False)
    wanted_on = models.DateField(null=True, blank=True)
    promised_on = models.DateField(null=True, blank=True)
    # wanted_on, promised_on or the hold's day: whatever comes first.
    due_on = models.DateField(null=True, blank=True)
    # For the front desk: parcel expected, parts here, the next visit booked, and what is
    # missing for it ("" when ready).
    parts_expected_on = models.DateField(null=True, blank=True)
    parts_here = models.BooleanField(default=False)
    # "try-in", "delivery", "recall"; the name says which follow-up.
    visit_kind = models.CharField(max_length=20, blank=True)
    visit_name = models.CharField(max_length=20, blank=True)
    visit_at = models.DateTimeField(null=True, blank=True)
    visit_minutes = models.PositiveSmallIntegerField(null=True, blank=True)
    not_ready_because = models.TextField(blank=True)
    open_question_count = models.PositiveSmallIntegerField(default=0)

    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["case", "party"], name="one_summary_per_party")
        ]
        indexes = [
            models.Index(
                fields=["party", "is_open", "is_turn", "due_on"], name="board_by_turn"
            ),
            models.Index(fields=["party", "is_open", "stage", "due_on"], name="board_by_stage"),
            models.Index(
                fields=["party", "is_open", "is_turn", "section", "due_on"],
                name="board_by_section",
            ),
            models.Index(
                fields=["party", "is_open", "is_turn", "assigned", "due_on"],
                name="board_by_member",
            ),
            models.Index(
                fields=["party", "is_open", "visit_kind", "visit_at", "due_on"],
                name="board_by_visit",
            ),
            models.Index(fields=["party", "is_open", "-stage_since"], name="cases_by_age"),
            # "is null" keeps no order in an index over the column itself.
            models.Index(
                fields=["party", "is_open", "visit_kind", "due_on"],
                condition=Q(visit_at=None),
                name="board_to_book",
            ),
            models.Index(
                fields=["party", "is_open", "is_turn", "due_on"],
                condition=Q(assigned=None),
                name="board_of_nobody",
            ),
            models.Index(fields=["party", "code"], name="board_by_code"),
        ]
        verbose_name_plural = "summaries"

    def __str__(self):
        return f"{self.code} for {self.party_id}"
