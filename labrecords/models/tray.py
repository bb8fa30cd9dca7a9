"""The tray: trace files that came from a watched folder and name no specimen, until somebody says whose they are."""

from django.db import models

from .base import Record
from .people import User
from .traces import TraceFile


class WaitingFile(Record):
    """A file in the tray, to the byte. The same bytes lie there once."""

    name = models.TextField()
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64, unique=True)
    content = models.BinaryField()
    why = models.TextField(help_text="Why nothing was chosen for it.")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self):
        return self.name


class TrayDecision(Record):
    """What became of a waiting file: it is a trace file of a study, or was set aside for a reason."""

    waiting = models.OneToOneField(WaitingFile, on_delete=models.PROTECT, related_name="decision")
    file = models.OneToOneField(
        TraceFile, null=True, blank=True, on_delete=models.PROTECT, related_name="out_of_the_tray"
    )
    reason = models.TextField(blank=True, help_text="Why it was set aside.")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(file__isnull=False, reason="") | models.Q(file__isnull=True) & ~models.Q(reason=""),
                name="tray-taken-or-set-aside",
            )
        ]

    def __str__(self):
        return f"{self.waiting_id} {'taken' if self.file_id else 'set aside'}"
