"""Force traces: the file as it came, how its columns were read, and what was taken from each segment."""

from django.db import models

from .base import Record
from .equipment import Equipment
from .people import User
from .results import Result
from .studies import Study


class TraceFile(Record):
    """A file from a tester, kept to the byte. The same bytes are kept once."""

    study = models.ForeignKey(Study, on_delete=models.PROTECT, related_name="trace_files")
    name = models.TextField()
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64, unique=True)
    content = models.BinaryField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self):
        return self.name


class TraceLayout(Record):
    """How a tester's files are read, as a person last confirmed it. The newest one counts."""

    tester = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="layouts")
    layout = models.JSONField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self):
        return f"layout of {self.tester_id}"


class Trace(Record):
    """One specimen's curve: where it lies in which file, its samples, and the reduction that was locked."""

    result = models.OneToOneField(Result, on_delete=models.PROTECT, related_name="trace")
    file = models.ForeignKey(TraceFile, on_delete=models.PROTECT, related_name="traces")
    segment = models.PositiveIntegerField()
    layout = models.JSONField()
    samples = models.BinaryField(help_text="Displacement, force and time, packed without loss.")
    points = models.PositiveIntegerField()
    reduction = models.JSONField(help_text="Every number of the reduction, with the fractions used.")
    measured_rate_mm_min = models.FloatField(null=True, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["file", "segment"], name="trace-reused")]

    def __str__(self):
        return f"segment {self.segment} of {self.file_id}"
