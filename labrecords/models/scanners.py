"""Scanners: that one at a tester was shown to read labels right."""

from django.contrib.postgres.fields import ArrayField
from django.db import models

from .base import Record
from .equipment import Equipment
from .people import User


class ScannerCheck(Record):
    """What a bench's scanner made of the test label, which has every character of label codes."""

    tester = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="scanner_checks")
    scanned = models.TextField(help_text="As it came.")
    framed = models.BooleanField(help_text="It came between F8 and Enter, not as if typed.")
    passed = models.BooleanField()
    wrong = ArrayField(models.TextField(), help_text="Sentences that name what came out wrong.")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self):
        return f"scanner at {self.tester_id}: {'passed' if self.passed else 'did not pass'}"
