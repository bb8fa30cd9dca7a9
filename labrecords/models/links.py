"""Links by which one issue of a report is read without an account: given, ended, and tried in vain."""

from datetime import timedelta

from django.db import models

from labrecords.rules.links import LONGEST_DAYS

from .base import Record
from .people import User
from .reports import Report


class ReportLink(Record):
    """A link to one issue of a report, for somebody named in words; of its secret only the SHA-256 is kept."""

    report = models.ForeignKey(Report, on_delete=models.PROTECT, related_name="links")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    whom = models.TextField(help_text="For whom it was given, in words.")
    until = models.DateTimeField(help_text="The moment from which it opens nothing.")
    digest = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(until__gt=models.F("at"))
                & models.Q(until__lte=models.F("at") + timedelta(days=LONGEST_DAYS)),
                name="link-life",
            )
        ]

    def __str__(self):
        return f"link to {self.report_id} for {self.whom}"


class LinkRevocation(Record):
    """The end of a link before its time."""

    link = models.OneToOneField(ReportLink, on_delete=models.PROTECT, related_name="revocation")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    def __str__(self):
        return f"end of {self.link_id}"


class LinkFailure(Record):
    """That a link was asked for that opens nothing, and from where: what limits guessing. The link is not kept."""

    address = models.CharField(max_length=45, help_text="From where, as far as the server can tell.")

    class Meta:
        indexes = [models.Index(fields=["address", "-at"])]

    def __str__(self):
        return f"no link, from {self.address}"
