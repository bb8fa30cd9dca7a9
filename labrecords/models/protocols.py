"""Protocols: what is to be tested and how it will be judged, as it was put to the client, and what the client said."""

from django.db import models

from .base import Record
from .people import User
from .review import Signature
from .studies import Study


class Protocol(Record):
    """One version of a study's plan, frozen as canonical JSON; signed where it was put to the client."""

    study = models.ForeignKey(Study, on_delete=models.PROTECT, related_name="protocols")
    version = models.PositiveSmallIntegerField()
    content = models.TextField()
    content_sha256 = models.CharField(max_length=64)
    words = models.TextField(blank=True, help_text="What the client is told with it.")
    signature = models.OneToOneField(
        Signature, null=True, blank=True, on_delete=models.PROTECT, related_name="protocol"
    )
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["study", "-version"]
        constraints = [models.UniqueConstraint(fields=["study", "version"], name="protocol-version-once")]

    def __str__(self):
        return f"protocol version {self.version}"


class ProtocolAnswer(Record):
    """What the client said to a version: signed by one of its people here, or recorded by the laboratory."""

    protocol = models.OneToOneField(Protocol, on_delete=models.PROTECT, related_name="answer")
    agreed = models.BooleanField()
    words = models.TextField(blank=True)
    said_by = models.TextField(help_text="Who of the client answered.")
    said_on = models.DateField()
    received_as = models.TextField(help_text="How it came: signed here, or letter, e-mail and where it is kept.")
    signature = models.OneToOneField(
        Signature, null=True, blank=True, on_delete=models.PROTECT, related_name="protocol_answer"
    )
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    def __str__(self):
        return "agreed" if self.agreed else "not agreed"
