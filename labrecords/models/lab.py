"""The laboratory itself: one row that names it and fixes its time zone, and its counters."""

from django.db import models

from .base import Table


class Laboratory(Table):
    """The laboratory whose records these are. One row.

    The time zone decides on which day a test was made, so it stands in the database, where the walls read it.
    """

    name = models.TextField()
    address = models.TextField()
    place_of_work = models.TextField(help_text="Where the tests are made, if not at the address.")
    time_zone = models.TextField(help_text="A name of the IANA time zone database, such as Europe/Dublin.")
    paper = models.TextField(default="a4", choices=[("a4", "A4"), ("us-letter", "US Letter")])
    only = models.BooleanField(default=True, unique=True, editable=False)

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(only=True), name="one-laboratory")]

    def __str__(self):
        return self.name


class Counter(models.Model):
    """The last number given out for studies, reports, labels and the like; taken under a row lock."""

    name = models.TextField(primary_key=True)
    value = models.PositiveIntegerField(default=0)

    def __str__(self):
        return f"{self.name}: {self.value}"
