"""Released reports: fixed bytes, and who opened them."""

from django.db import models

from .base import Record
from .people import User
from .review import Signature
from .studies import Study


class Report(Record):
    """A released report. Its content is canonical JSON; everything shown is made from it or beside it."""

    study = models.ForeignKey(Study, on_delete=models.PROTECT, related_name="reports")
    number = models.CharField(max_length=20)
    issue = models.PositiveSmallIntegerField(default=1)
    title = models.TextField()
    content = models.TextField()
    content_sha256 = models.CharField(max_length=64)
    signature = models.OneToOneField(Signature, on_delete=models.PROTECT, related_name="report")

    class Meta:
        ordering = ["-number", "-issue"]
        constraints = [models.UniqueConstraint(fields=["number", "issue"], name="report-issue-once")]

    def __str__(self):
        return f"{self.number} issue {self.issue}"


class ReportAmendment(Record):
    """That the study of a released issue was opened again, so that another issue may replace it."""

    report = models.OneToOneField(Report, on_delete=models.PROTECT, related_name="amendment")
    reason = models.TextField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    def __str__(self):
        return f"amendment of {self.report_id}"


class ReportWithdrawal(Record):
    """That an issue holds no longer, signed. Its bytes stay as they were released."""

    report = models.OneToOneField(Report, on_delete=models.PROTECT, related_name="withdrawal")
    reason = models.TextField()
    signature = models.OneToOneField(Signature, on_delete=models.PROTECT, related_name="withdrawal")

    def __str__(self):
        return f"withdrawal of {self.report_id}"


class ReportFile(Record):
    """A file of a released report: the PDF, a figure, a table, the traces."""

    report = models.ForeignKey(Report, on_delete=models.PROTECT, related_name="files")
    name = models.TextField()
    media_type = models.TextField()
    title = models.TextField()
    content = models.BinaryField()
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["report", "name"], name="report-file-once")]

    def __str__(self):
        return self.name


class Opening(Record):
    """That a report, or a file of it, was opened: by somebody of the client, or by nobody named, through a link."""

    report = models.ForeignKey(Report, on_delete=models.PROTECT, related_name="openings")
    name = models.TextField(help_text="What was opened: page, or the name of the file.")
    by = models.ForeignKey(User, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    link = models.ForeignKey(
        "labrecords.ReportLink", null=True, blank=True, on_delete=models.PROTECT, related_name="openings"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(by__isnull=False, link__isnull=True) | models.Q(by__isnull=True, link__isnull=False),
                name="opening-by-person-or-link",
            )
        ]

    def __str__(self):
        return f"{self.name} opened"
