"""The audit trail in words: what was done to a record, by whom, when and why, with before and after."""

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from labrecords.models import Event, Seal, Study, User

from . import access, values

SHOWN = 50
IDENTIFIER = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")


HASH = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True)
class Change:
    """One thing an act changed or stated. `before` is empty where nothing stood."""

    name: str
    before: str
    after: str


@dataclass(frozen=True)
class Line:
    """One event in words. `hidden` tells that its details would tell a value that its reader must not know yet."""

    event: Event
    verb: str
    changes: tuple[Change, ...]
    why: str
    seal: int | None
    hidden: bool


@dataclass(frozen=True)
class Page:
    """Some lines, the newest first, and the event before which the next ones are; None at the end."""

    lines: tuple[Line, ...]
    older: int | None


def read(*, subject: str = "", study: str = "", before: int | None = None, reader: User) -> Page:
    """The trail of one record by its kind and identifier, of everything in one study, or of all."""
    found = list(_events(subject, study, before)[: SHOWN + 1])
    shown = found[:SHOWN]
    seals = dict(Seal.objects.filter(xid__in={event.xid for event in shown}).values_list("xid", "seq"))
    waiting = _waiting(reader)
    lines = tuple(_line(event, seals.get(event.xid), waiting) for event in shown)
    return Page(lines, shown[-1].pk if len(found) > SHOWN else None)


def _events(subject: str, study: str, before: int | None) -> QuerySet[Event]:
    found = Event.objects.order_by("-id")
    if subject:
        found = found.filter(subject=subject)
    if study:
        found = found.filter(study__in=Study.objects.filter(code=study).values("pk"))
    return found.filter(pk__lt=before) if before is not None else found


def _waiting(reader: User) -> list[str]:
    """Labels of specimens whose results wait for a decision that the reader may make: what they gave is not told."""
    if not access.may(reader, "decide a deviation"):
        return []
    return list(values.undecided().values_list("result__specimen__label", flat=True).distinct())


def _line(event: Event, seal: int | None, waiting: list[str]) -> Line:
    body = json.loads(event.body)
    hidden = any(label in event.body for label in waiting)
    return Line(
        event=event,
        verb=event.act.partition(".")[2].replace("-", " "),
        changes=() if hidden else tuple(_changes(body.get("before") or {}, body.get("after") or {})),
        why="" if hidden else body.get("why", ""),
        seal=seal,
        hidden=hidden,
    )


def _changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[Change]:
    for name in dict.fromkeys([*before, *after]):
        old, new = (_words(side.get(name)) for side in (before, after))
        if old != new and not IDENTIFIER.fullmatch(new):
            yield Change(name.replace("_", " "), old, new)


def _words(value: Any) -> str:
    """A value of an event's body as people read it; of a hash, its beginning.

    >>> _words({"group": "L1", "planned": "4"}), _words(["AP", "CO"]), _words(True), _words(None)
    ('group L1, planned 4', 'AP, CO', 'yes', '')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return ", ".join(f"{name} {_words(one)}" for name, one in value.items() if _words(one))
    if isinstance(value, str) and HASH.fullmatch(value):
        return f"{value[:12]}…"
    if isinstance(value, list):
        return ("; " if any(isinstance(one, Mapping) for one in value) else ", ").join(map(_words, value))
    return str(value)
