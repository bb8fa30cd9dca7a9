"""Labels as they were printed: which codes, on which sheet, by whom."""

from django.contrib.postgres.fields import ArrayField
from django.db import models

from .base import Record
from .people import User


class LabelPrint(Record):
    """That labels were printed. The same codes printed again are another row, so that reprints can be counted."""

    subject = models.TextField(help_text="What they belong to: a lot, or the equipment.")
    codes = ArrayField(models.CharField(max_length=20), help_text="In the order of the sheet.")
    sheet = models.JSONField(help_text="Sheet, margins in mm, and the label at which it starts.")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self):
        return f"{len(self.codes)} labels of {self.subject}"
