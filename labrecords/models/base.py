"""What every table shares: identifiers made here, and records that are only ever added."""

import os
import time
import uuid

from django.db import models


def new_id() -> uuid.UUID:
    """A UUID of version 7: the time in milliseconds, then the fraction of it in 12 bits, so that keys sort by age.

    RFC 9562, section 6.2, method 3. Records of one moment are told apart by it, in the order in which they were made.
    Python has one of its own only from 3.14, PostgreSQL only from 18.
    """
    stamp, rest = divmod(time.time_ns(), 1_000_000)
    fraction = rest * 4096 // 1_000_000
    random = int.from_bytes(os.urandom(8), "big") & (1 << 62) - 1
    return uuid.UUID(int=(stamp & 0xFFFF_FFFF_FFFF) << 80 | 0x7 << 76 | fraction << 64 | 0x2 << 62 | random)


class RecordIsKept(TypeError):
    """Raised when code tries to change or delete a record. Records are only ever added."""


def _closed(name: str):
    def refuse(*_args, **_named):
        raise RecordIsKept(f"{name}() would change records that are kept as they are. Add a new record instead.")

    refuse.__name__ = name
    return refuse


class RecordQuerySet(models.QuerySet):
    """Reads and adds; the roads that change are closed here and again in the database."""

    update = _closed("update")
    delete = _closed("delete")
    bulk_update = _closed("bulk_update")
    update_or_create = _closed("update_or_create")


class Table(models.Model):
    """A table whose rows may change in the ways that the actions allow."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)

    class Meta:
        abstract = True


class Record(Table):
    """A table whose rows are never changed and never deleted."""

    at = models.DateTimeField(help_text="When the record was made, by the server's clock.")

    objects = RecordQuerySet.as_manager()

    class Meta:
        abstract = True

    def save(self, **kwargs):
        if not self._state.adding:
            raise RecordIsKept(f"{type(self).__name__} {self.pk} is kept as it is. Add a new record instead.")
        super().save(**{**kwargs, "force_insert": True})

    delete = _closed("delete")
