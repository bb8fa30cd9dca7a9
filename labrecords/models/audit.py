"""The audit trail: one event per act, sealed per transaction in one chain."""

from django.db import models

from .base import RecordQuerySet


class Event(models.Model):
    """One act: who, when, what, on what, before and after, why. `body` holds the exact bytes that are sealed.

    Names are text, not links, so that the event reads the same whatever happens to the rows it speaks of.
    The transaction's number is set by the database.
    """

    id = models.BigAutoField(primary_key=True)
    xid = models.BigIntegerField(editable=False, db_index=True, db_default=0)
    at = models.DateTimeField()
    actor = models.TextField()
    act = models.TextField(db_index=True)
    subject = models.TextField(help_text="Kind and identifier, such as study S-2026-0001.")
    study = models.UUIDField(null=True, db_index=True)
    body = models.TextField()

    objects = RecordQuerySet.as_manager()

    class Meta:
        ordering = ["id"]

    def __str__(self):
        return f"{self.act}: {self.subject}"


class Seal(models.Model):
    """The seal of one transaction's events. Written only by the database itself, at commit."""

    seq = models.BigIntegerField(primary_key=True)
    xid = models.BigIntegerField(unique=True)
    first_event = models.BigIntegerField()
    last_event = models.BigIntegerField()
    events = models.IntegerField()
    prev = models.BinaryField(unique=True)
    hash = models.BinaryField(unique=True)

    objects = RecordQuerySet.as_manager()

    class Meta:
        ordering = ["seq"]

    def __str__(self):
        return f"seal {self.seq}"
