"""Corrections: what a result is to read instead, why, and a second person's word on it. Every version stays."""

from django.contrib.postgres.fields import ArrayField
from django.db import models

from labrecords.rules.correction import REASONS

from .base import Record
from .people import User


class Correction(Record):
    """What is wrong with a result, and what it is to read. How the strip was pulled cannot be corrected."""

    result = models.ForeignKey("Result", on_delete=models.PROTECT, related_name="corrections")
    reason = models.CharField(max_length=10, choices=list(REASONS.items()))
    words = models.TextField()
    typed = models.TextField(blank=True, help_text="The force or strength exactly as typed; blank for a trace's.")
    unit = models.CharField(max_length=12, blank=True)
    modes = ArrayField(models.CharField(max_length=2))
    opened = models.BooleanField()
    remark = models.TextField(blank=True)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self):
        return f"correction of {self.result_id}"


class CorrectionDecision(Record):
    """A second person's word on a correction."""

    correction = models.OneToOneField(Correction, on_delete=models.PROTECT, related_name="decision")
    agreed = models.BooleanField()
    words = models.TextField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    def __str__(self):
        return "agreed" if self.agreed else "not agreed"
