"""Photographs of separated strips: kept to the byte, never replaced; one attached in error is set aside."""

from django.db import models

from .base import Record
from .people import User
from .results import Result


class Photo(Record):
    """A photograph of a result's strip as it came, and the picture that is shown of it."""

    result = models.ForeignKey(Result, on_delete=models.PROTECT, related_name="photos")
    name = models.TextField()
    caption = models.TextField(blank=True)
    media_type = models.CharField(max_length=20)
    width = models.PositiveIntegerField(help_text="Pixels, upright.")
    height = models.PositiveIntegerField(help_text="Pixels, upright.")
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64, db_index=True)
    content = models.BinaryField(help_text="The bytes as they came, with all that the camera noted.")
    shown = models.BinaryField(help_text="A JPEG made from them, upright and without what the camera noted.")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    key = models.UUIDField(null=True, unique=True, help_text="The sender's own, where it may be sent again.")

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self):
        return self.name


class PhotoAside(Record):
    """A photograph that was attached in error, and why."""

    photo = models.OneToOneField(Photo, on_delete=models.PROTECT, related_name="aside")
    reason = models.TextField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    def __str__(self):
        return f"{self.photo_id} set aside"
