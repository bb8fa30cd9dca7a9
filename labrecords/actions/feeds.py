"""Private calendar addresses: given, read and revoked."""

import hashlib
import secrets
from datetime import datetime

from django.db import transaction

from labrecords.models import CalendarFeed, User
from labrecords.queries import access

from . import trail


@transaction.atomic(durable=True)
def give(*, person: User, at: datetime) -> str:
    """A new secret for a person's calendar; it is shown once, and earlier ones end."""
    access.demand(person, "see the laboratory")
    secret = secrets.token_urlsafe(32)
    CalendarFeed.objects.filter(person=person, revoked_at__isnull=True).update(revoked_at=at)
    CalendarFeed.objects.create(person=person, digest=digest(secret), created_at=at)
    trail.write("calendar.given", subject=f"person {person.username}", by=person, at=at, after={})
    return secret


@transaction.atomic(durable=True)
def revoke(*, person: User, at: datetime) -> None:
    """End a person's calendar address."""
    CalendarFeed.objects.filter(person=person, revoked_at__isnull=True).update(revoked_at=at)
    trail.write("calendar.revoked", subject=f"person {person.username}", by=person, at=at, after={})


def fetched(*, feed: CalendarFeed, at: datetime) -> None:
    """That a calendar program read it; told to its owner, and no part of the record."""
    CalendarFeed.objects.filter(pk=feed.pk).update(fetched_at=at)


def digest(secret: str) -> str:
    """What is kept of a secret."""
    return hashlib.sha256(secret.encode()).hexdigest()
