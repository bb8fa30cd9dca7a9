"""Nonconforming work (ISO/IEC 17025, 7.10): what went wrong, what it holds, what was decided, and who resumed work."""

from django.db import models

from .base import Record
from .clients import Client
from .equipment import Calibration
from .people import User
from .reports import Report
from .results import Refusal
from .studies import Study


class Nonconformity(Record):
    """One piece of nonconforming work: opened from a refusal, a calibration, a failing result, or by hand."""

    code = models.CharField(max_length=20, unique=True)
    title = models.TextField()
    words = models.TextField(help_text="What was found, and how far it may reach.")
    refusal = models.ForeignKey(Refusal, null=True, on_delete=models.PROTECT, related_name="nonconformities")
    calibration = models.ForeignKey(Calibration, null=True, on_delete=models.PROTECT, related_name="nonconformities")
    study = models.ForeignKey(Study, null=True, on_delete=models.PROTECT, related_name="nonconformities")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-code"]

    def __str__(self):
        return f"{self.code} {self.title}"


class StudyHold(Record):
    """That a study is neither reviewed nor released while the nonconforming work is open."""

    nonconformity = models.ForeignKey(Nonconformity, on_delete=models.PROTECT, related_name="holds")
    study = models.ForeignKey(Study, on_delete=models.PROTECT, related_name="holds")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["nonconformity", "study"], name="study-held-once")]

    def __str__(self):
        return f"{self.study_id} held"


class ReportInQuestion(Record):
    """A released report that the nonconforming work may touch, to be reconsidered."""

    nonconformity = models.ForeignKey(Nonconformity, on_delete=models.PROTECT, related_name="reports")
    report = models.ForeignKey(Report, on_delete=models.PROTECT, related_name="questions")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["nonconformity", "report"], name="report-questioned-once")]

    def __str__(self):
        return f"{self.report_id} in question"


class NonconformityStep(Record):
    """One step: what it means, what was decided, that a client was told, that work resumes, which closes it."""

    MEANS, DECIDED, TOLD, CAUSE, RESUMED = "significance", "decision", "client told", "cause and action", "work resumed"
    KINDS = (MEANS, DECIDED, TOLD, CAUSE, RESUMED)
    nonconformity = models.ForeignKey(Nonconformity, on_delete=models.PROTECT, related_name="steps")
    kind = models.CharField(max_length=20, choices=[(k, k) for k in KINDS])
    words = models.TextField()
    client = models.ForeignKey(Client, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["nonconformity"], condition=models.Q(kind="work resumed"), name="work-resumed-once"
            )
        ]

    def __str__(self):
        return f"{self.kind} of {self.nonconformity_id}"
