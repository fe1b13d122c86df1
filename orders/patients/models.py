"""Who is treated? What is personal lies apart, so that it can be erased alone."""

from django.db import models


class Patient(models.Model):
    """The person treated, as everybody outside the practice sees them."""

    practice = models.ForeignKey("orders.Party", models.PROTECT, related_name="+")
    code = models.CharField(max_length=12, unique=True)
    sex = models.CharField(max_length=10, blank=True)
    # Ten years wide, written from the birth date when the patient is entered.
    age_band = models.CharField(max_length=10, blank=True)
    entered_at = models.DateTimeField(auto_now_add=True)
    erased_at = models.DateTimeField(null=True, blank=True)

    PERSONAL = ()

    def __str__(self):
        return self.code


class PatientIdentity(models.Model):
    """Name, birth date and chart number; the whole row goes at erasure."""

    patient = models.OneToOneField(Patient, models.PROTECT, related_name="identity")
    name = models.CharField(max_length=200)
    birth_date = models.DateField(null=True, blank=True)
    chart_number = models.CharField(max_length=40, blank=True)

    PERSONAL = ("name", "birth_date", "chart_number")

    class Meta:
        verbose_name_plural = "patient identities"

    def __str__(self):
        return self.patient.code
