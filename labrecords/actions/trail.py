"""Writes the audit trail: one event an act, in the act's own transaction."""

from datetime import datetime
from typing import Any

from labrecords.models import Event, Study, User
from labrecords.rules.canonical import canonical, instant

SCHEMA = "event-1"
NOBODY = {"id": None, "name": "Somebody with a link", "user": None}


def write(
    act: str,
    *,
    subject: str,
    by: User | None,
    at: datetime,
    study: Study | None = None,
    after: dict[str, Any] | None = None,
    before: dict[str, Any] | None = None,
    why: str = "",
) -> Event:
    """One act: who, when, what, on what, before and after, why. Sealed when the transaction commits.

    `by` is None where nobody signed in: somebody read by a link, which `after` names.
    """
    body = canonical(
        {
            "schema": SCHEMA,
            "act": act,
            "subject": subject,
            "by": {"id": by.pk, "name": by.name, "user": by.username} if by else NOBODY,
            "at": instant(at),
            "study": study.code if study else None,
            "before": before,
            "after": after,
            "why": why,
        }
    )
    return Event.objects.create(
        at=at,
        actor=by.name if by else NOBODY["name"],
        act=act,
        subject=subject,
        study=study.pk if study else None,
        body=body,
    )
