"""Archives of a report's records: asked for by somebody for somebody, and made a little later."""

from django.db import models

from .base import Record
from .people import User
from .reports import Report


class ArchiveOrder(Record):
    """That somebody asked for the records behind a report, and for whom."""

    report = models.ForeignKey(Report, on_delete=models.PROTECT, related_name="archive_orders")
    whom = models.TextField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self):
        return f"records behind {self.report} for {self.whom}"


class Archive(Record):
    """The archive that an order led to, or why it could not be made."""

    order = models.OneToOneField(ArchiveOrder, on_delete=models.PROTECT, related_name="archive")
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64, blank=True)
    content = models.BinaryField()
    problem = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(problem="", size__gt=0) | (~models.Q(problem="") & models.Q(size=0)),
                name="archive-made-or-not",
            )
        ]

    def __str__(self):
        return f"archive of {self.size} bytes"
