"""A calendar as RFC 5545 writes it: all-day events that a calendar program reads and nobody need type."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

FOLD = 75  # octets in a line, RFC 5545, 3.1


@dataclass(frozen=True)
class AllDay:
    """One all-day event. `uid` stays the same over time; `sequence` grows when the event changes."""

    uid: str
    day: date
    summary: str
    url: str
    sequence: int = 0
    cancelled: bool = False


def calendar(events: Iterable[AllDay], *, name: str, at: datetime) -> bytes:
    """The calendar as bytes, its lines folded and ended as the standard says.

    >>> at = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
    >>> calendar([], name="Due", at=at).splitlines()[0]
    b'BEGIN:VCALENDAR'
    """
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//labrecords//due dates//EN",
        f"X-WR-CALNAME:{_text(name)}",
        "REFRESH-INTERVAL;VALUE=DURATION:P1D",
        *(line for event in events for line in _event(event, at)),
        "END:VCALENDAR",
    ]
    return b"".join(_folded(line) for line in lines)


def _event(event: AllDay, at: datetime) -> Iterator[str]:
    yield "BEGIN:VEVENT"
    yield f"UID:{_text(event.uid)}"
    yield f"DTSTAMP:{at.astimezone(UTC):%Y%m%dT%H%M%SZ}"
    yield f"DTSTART;VALUE=DATE:{event.day:%Y%m%d}"
    yield f"DTEND;VALUE=DATE:{event.day + timedelta(days=1):%Y%m%d}"
    yield f"SEQUENCE:{event.sequence}"
    yield f"STATUS:{'CANCELLED' if event.cancelled else 'CONFIRMED'}"
    yield f"SUMMARY:{_text(event.summary)}"
    if event.url:
        yield f"URL:{event.url}"
    yield "TRANSP:TRANSPARENT"
    yield "END:VEVENT"


def _text(words: str) -> str:
    for plain, written in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n")):
        words = words.replace(plain, written)
    return words


def _folded(line: str) -> bytes:
    """A line of at most 75 octets each, continued with a blank; no character is cut in two."""
    parts, part = [], b""
    for character in line:
        octets = character.encode()
        if len(part) + len(octets) > FOLD - bool(parts):
            parts.append(part)
            part = b""
        part += octets
    return b"\r\n ".join([*parts, part]) + b"\r\n"
