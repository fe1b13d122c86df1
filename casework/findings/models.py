"""Which checks ran on which facts, what did they find, and who answered?"""

from django.db import models


class GateRun(models.Model):
    """All checks of one move run together, because a person asked or a fact changed."""

    case = models.ForeignKey("casework.Case", models.PROTECT, related_name="gate_runs")
    move = models.CharField(max_length=30)
    # True where the checks are those of the acceptance.
    for_acceptance = models.BooleanField(default=False)
    asked_by = models.ForeignKey(
        "orders.Membership", models.PROTECT, null=True, blank=True, related_name="+"
    )
    asked_at = models.DateTimeField()
    # "waiting", "done"
    state = models.CharField(max_length=10, default="waiting")
    done_at = models.DateTimeField(null=True, blank=True)

    PERSONAL = ()

    class Meta:
        indexes = [models.Index(fields=["case", "move", "state"], name="runs_by_move")]

    def __str__(self):
        return f"{self.move} gate of case {self.case_id}"


class CheckRun(models.Model):
    """One run of one check: the digest of every fact it read, and how it ended."""

    gate_run = models.ForeignKey(GateRun, models.PROTECT, related_name="check_runs")
    check_name = models.CharField(max_length=40)
    version = models.PositiveSmallIntegerField()
    facts_digest = models.CharField(max_length=64)
    # "holds", "found", "not known"
    outcome = models.CharField(max_length=10)

    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["gate_run", "check_name"], name="one_run_per_check")
        ]

    def __str__(self):
        return f"{self.check_name}: {self.outcome}"


class Finding(models.Model):
    """One finding of one run: code and values; the sentence is made for the reader."""

    check_run = models.ForeignKey(CheckRun, models.PROTECT, related_name="findings")
    # Same digest, same question: check, code, subject and the facts it was found on.
    key = models.CharField(max_length=64, db_index=True)
    # "stop", "ask", "note"
    weight = models.CharField(max_length=5)
    code = models.CharField(max_length=60)
    subject = models.CharField(max_length=80, blank=True)
    values = models.JSONField(default=dict)
    measured = models.CharField(max_length=60, blank=True)
    limit = models.CharField(max_length=60, blank=True)
    source = models.CharField(max_length=200, blank=True)

    PERSONAL = ()

    def __str__(self):
        return f"{self.weight}: {self.code} {self.subject}"


class Answer(models.Model):
    """A person's reason for going on in spite of an ask, bound to the finding's key."""

    case = models.ForeignKey("casework.Case", models.PROTECT, related_name="answers")
    key = models.CharField(max_length=64)
    check_name = models.CharField(max_length=40)
    code = models.CharField(max_length=60)
    subject = models.CharField(max_length=80, blank=True)
    # The move it was answered for: another move asks its own responsible person.
    move = models.CharField(max_length=30)
    reason = models.TextField()
    by = models.ForeignKey("orders.Membership", models.PROTECT, related_name="+")
    at = models.DateTimeField()

    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["case", "key", "move"], name="one_answer_per_ask")
        ]

    def __str__(self):
        return f"{self.check_name} {self.subject}: {self.reason[:40]}"


class PartyLimit(models.Model):
    """A party's own value for a limit, from a day on; the newest row counts."""

    party = models.ForeignKey("orders.Party", models.CASCADE, related_name="limits")
    name = models.CharField(max_length=40)
    value = models.DecimalField(max_digits=10, decimal_places=3)
    source = models.CharField(max_length=200)
    since = models.DateField()
    set_by = models.ForeignKey("orders.Membership", models.PROTECT, related_name="+")

    PERSONAL = ()

    class Meta:
        indexes = [models.Index(fields=["party", "name", "since"], name="limits_by_day")]

    def __str__(self):
        return f"{self.name} of {self.party}: {self.value}"
