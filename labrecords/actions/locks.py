"""Locks on things whose rows are never changed: held until the transaction ends."""

import uuid

from django.db import connection


def hold(key: uuid.UUID) -> None:
    """Wait for whoever holds the same key, then hold it."""
    with connection.cursor() as cursor:
        cursor.execute("select pg_advisory_xact_lock(%s)", [int.from_bytes(key.bytes[8:], signed=True)])


def hold_bytes(sha256: str) -> None:
    """Wait for whoever holds the same bytes, named by their hash, then hold them."""
    hold(uuid.UUID(hex=sha256[:32]))
