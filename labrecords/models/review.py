"""Review by a second person, and signatures."""

from django.db import models

from .base import Record
from .people import User
from .studies import Study


class Review(Record):
    """That somebody who tested none of it read the whole study, and what came of it."""

    study = models.ForeignKey(Study, on_delete=models.PROTECT, related_name="reviews")
    accepted = models.BooleanField()
    words = models.TextField()
    content_sha256 = models.CharField(max_length=64, help_text="Hash of the results as they were read.")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self):
        return "accepted" if self.accepted else "returned"


class Signature(Record):
    """A signature with name, time and meaning, bound to the hash of what was signed."""

    signer = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    signer_name = models.TextField(help_text="The name as printed, kept as text.")
    meaning = models.TextField()
    content_sha256 = models.CharField(max_length=64)
    authenticated_by = models.TextField(help_text="How the signer showed who they are, just before.")

    def __str__(self):
        return f"{self.signer_name}: {self.meaning}"
