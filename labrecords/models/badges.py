"""Badges: a code that is scanned and a PIN that is typed, by whoever takes over at the bench."""

from django.db import models

from .base import Table
from .people import User


class Badge(Table):
    """A person's badge. Only its PIN and its end are ever written; of the PIN, only an Argon2 hash is kept."""

    person = models.ForeignKey(User, on_delete=models.PROTECT, related_name="badges")
    label = models.CharField(max_length=20, unique=True)
    pin = models.CharField(max_length=200, help_text="A hash.")
    pin_set_at = models.DateTimeField()
    made_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
    ended_by = models.ForeignKey(User, null=True, on_delete=models.PROTECT, related_name="+")
    ended_why = models.TextField(blank=True)

    class Meta:
        ordering = ["made_at", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["person"], condition=models.Q(ended_at__isnull=True), name="one-badge-a-person"
            ),
            models.CheckConstraint(
                condition=models.Q(ended_at__isnull=True, ended_by__isnull=True)
                | models.Q(ended_at__isnull=False, ended_by__isnull=False),
                name="badge-end-has-a-person",
            ),
        ]

    def __str__(self):
        return f"badge {self.label}"
