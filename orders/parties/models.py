"""Who takes part: parties, the people who work there, and in which roles."""

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models.functions import Lower

from orders.roles import LABELS, PARTY_LABELS, PartyKind, Role


class Party(models.Model):
    """A practice, a placing practice, a laboratory, a scan centre or a milling centre."""

    kind = models.CharField(max_length=20)
    name = models.CharField(max_length=120)
    address = models.TextField(blank=True)
    # Two-letter country and, where holidays differ inside it, the subdivision.
    country = models.CharField(max_length=2, blank=True)
    region = models.CharField(max_length=10, blank=True)
    time_zone = models.CharField(max_length=60, default="UTC")
    # How the party types and reads tooth numbers and dates; the site says so in words.
    notation = models.CharField(max_length=10, default="iso")
    date_order = models.CharField(max_length=3, default="iso")
    # A practice may choose to show its patients' names to the parties it works with.
    shows_patient_name = models.BooleanField(default=False)
    # Records are kept this long after the last entry; the default is the longest period known.
    retention_years = models.PositiveSmallIntegerField(default=15)
    # A registered device that several people share locks when nobody is at it for so long.
    lock_after_minutes = models.PositiveSmallIntegerField(default=5)
    # Typed by a partner's administrator to work together.
    join_code = models.CharField(max_length=20, unique=True)
    is_invented = models.BooleanField(default=False)

    PERSONAL = ()

    class Meta:
        verbose_name_plural = "parties"

    def __str__(self):
        return self.name

    @property
    def kind_label(self):
        return PARTY_LABELS[PartyKind(self.kind)]


class Partnership(models.Model):
    """A practice and another party that have agreed to work together."""

    practice = models.ForeignKey(Party, models.PROTECT, related_name="partnerships")
    partner = models.ForeignKey(Party, models.PROTECT, related_name="+")
    since = models.DateTimeField(auto_now_add=True)

    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["practice", "partner"], name="one_partnership")
        ]

    def __str__(self):
        return f"{self.practice} with {self.partner}"


class PersonManager(BaseUserManager):
    def create_user(self, email, name, password=None, **fields):
        person = self.model(email=self.normalise(email), name=name, **fields)
        person.set_password(password)
        person.save(using=self._db)
        return person

    def get_by_natural_key(self, email):
        return self.get(email=self.normalise(email))

    @staticmethod
    def normalise(email):
        return (email or "").strip().lower()


class Person(AbstractBaseUser):
    """Somebody who signs in by e-mail; what they may do hangs on their memberships."""

    email = models.EmailField(max_length=254, unique=True)
    name = models.CharField(max_length=120)
    licence_number = models.CharField(max_length=60, blank=True)
    is_active = models.BooleanField(default=True)

    objects = PersonManager()
    USERNAME_FIELD = "email"
    REQUIRED_FIELDS = ["name"]
    # Staff, not patients: kept with what they signed.
    PERSONAL = ()

    class Meta:
        constraints = [models.UniqueConstraint(Lower("email"), name="one_account_per_email")]

    def __str__(self):
        return self.name


class Membership(models.Model):
    """One person at one party, with the set of roles held there."""

    person = models.ForeignKey(Person, models.PROTECT, related_name="memberships")
    party = models.ForeignKey(Party, models.PROTECT, related_name="memberships")
    roles = models.JSONField(default=list)
    is_active = models.BooleanField(default=True)
    away_until = models.DateField(null=True, blank=True)

    PERSONAL = ()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["person", "party"], name="one_membership")
        ]

    def __str__(self):
        return f"{self.person.name}, {self.party.name}"

    @property
    def role_set(self):
        return frozenset(Role(role) for role in self.roles)

    def has(self, *roles):
        return bool(self.role_set & set(roles))

    @property
    def role_labels(self):
        return ", ".join(str(LABELS[Role(role)]) for role in self.roles)


class ResetRequest(models.Model):
    """Somebody asked for a new password; a job writes the mail, so asking tells nothing."""

    email = models.CharField(max_length=254)
    asked_at = models.DateTimeField(auto_now_add=True)

    PERSONAL = ()

    def __str__(self):
        return f"reset asked at {self.asked_at:%Y-%m-%d %H:%M}"
