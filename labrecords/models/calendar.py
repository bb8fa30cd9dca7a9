"""The private address under which a person's calendar program reads what is due."""

from django.db import models

from .base import Table
from .people import User


class CalendarFeed(Table):
    """A feed's secret address, of which only the SHA-256 is kept, and when it was last read."""

    person = models.ForeignKey(User, on_delete=models.PROTECT, related_name="feeds")
    digest = models.CharField(max_length=64, unique=True)
    created_at = models.DateTimeField()
    fetched_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    def __str__(self):
        return f"calendar of {self.person}"
