"""The daily digest: what each person is told, and in which words."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from django.conf import settings
from django.urls import reverse

from labrecords.queries import access, due, lab, people, waiting
from labrecords.rules import notices


@dataclass(frozen=True)
class Mail:
    """One digest: to whom (their key and address), and what it says. The subject is the counts."""

    person: str
    address: str
    subject: str
    body: str


def digests(moment: datetime) -> Iterator[Mail]:
    """One mail for each person with an address who has something to be told; on Mondays for managers in any case."""
    day = lab.day(moment)
    if not notices.is_working(day):
        return
    rows, reviews = due.everything(moment), waiting.reviews(moment)
    for person in people.with_mail():
        told = _due(rows, person, day)
        waits = [row for row in reviews if access.may(person, "review a study") and person.name not in row.not_by]
        if told or waits:
            yield Mail(str(person.pk), person.email, _subject(told, waits), _body(told, waits))
        elif access.may(person, "keep equipment") and notices.says_all_in_date(day):
            yield Mail(str(person.pk), person.email, "All in date", _next(rows))


def _due(rows: list[due.Due], person, day: date) -> list[due.Due]:
    """What this person is told of today: their own always, everything else if they keep equipment."""
    told = [row for row in rows if (notices.is_told(row.on, on=day) if row.on is not None else row.overdue)]
    if access.may(person, "keep equipment"):
        late = notices.TO_MANAGER_AFTER
        return [row for row in told if row.person in (None, person.pk) or row.days is None or not -late < row.days < 0]
    return [row for row in told if row.person == person.pk]


def _subject(told: list[due.Due], waits: list) -> str:
    overdue = sum(row.overdue for row in told)
    counts = ((overdue, "stop work"), (len(told) - overdue, "due"), (len(waits), "to review"))
    return ", ".join(f"{count} {words}" for count, words in counts if count)


def _body(told: list[due.Due], waits: list) -> str:
    lines = [f"{row.what}: {row.due}{_on(row.on)}. {_address(*row.url)}" for row in told]
    lines += [
        f"Waiting for review: {row.study.code}, {row.days} days. {_address('study', row.study.code)}" for row in waits
    ]
    return "\n".join([*lines, "", "The mail reminds; the record decides."])


def _on(day: date | None) -> str:
    return "" if day is None else f", {day.day} {day:%B %Y}"


def _next(rows: list[due.Due]) -> str:
    ahead = [row for row in rows if row.on is not None]
    if not ahead:
        return "Nothing stops work, and nothing is due."
    return f"Nothing stops work. Next: {ahead[0].what} on {ahead[0].on.day} {ahead[0].on:%B %Y}."


def _address(name: str, argument: str) -> str:
    return settings.SITE_ADDRESS + reverse(name, args=[argument])
