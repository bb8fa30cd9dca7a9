"""Private calendar addresses, and what a calendar shows: item and day, no client and no study."""

import hashlib
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from labrecords.models import CalendarFeed, EquipmentEvent, User, Withdrawal

from . import access, due, equipment, lab

TOLD_FOR = timedelta(days=60)


def of(person: User) -> CalendarFeed | None:
    """The address a person has now."""
    return CalendarFeed.objects.filter(person=person, revoked_at__isnull=True).first()


def by_secret(secret: str) -> CalendarFeed:
    """The feed of a secret address, of somebody who still works here."""
    digest = hashlib.sha256(secret.encode()).hexdigest()
    found = CalendarFeed.objects.select_related("person").filter(digest=digest, revoked_at__isnull=True).first()
    if found is None or not access.may(found.person, "see the laboratory"):
        raise access.NotFound("calendar")
    return found


def dated(person: User, moment: datetime) -> list[due.Due]:
    """What has a day: everything for a manager; equipment and the person's own for everybody else."""
    rows = [row for row in due.everything(moment) if row.on is not None]
    if access.may(person, "keep equipment"):
        return rows
    return [row for row in rows if row.person in (None, person.pk)]


@dataclass(frozen=True)
class Gone:
    """Something that is no longer due, told for a while so that calendars take it away."""

    key: str
    on: date
    what: str
    changed_at: datetime


def gone(moment: datetime) -> list[Gone]:
    """Items retired and authorisations withdrawn of late, with the day on which they would have been due."""
    since = moment - TOLD_FOR
    retired = EquipmentEvent.objects.filter(kind=EquipmentEvent.RETIRED, at__gte=since).select_related("equipment")
    rows = []
    for event in retired:
        made = equipment.calibration_on(event.equipment, lab.day(moment))
        if made is not None:
            item = event.equipment
            rows.append(Gone(f"calibration-{item.label}", made.due_on, f"{item.name} ({item.label})", event.at))
    withdrawn = Withdrawal.objects.filter(at__gte=since).select_related(
        "authorisation__person", "authorisation__method_version__method"
    )
    for end in withdrawn:
        held = end.authorisation
        key = due.authorisation_key(held)
        rows.append(Gone(key, held.until_on, f"{held.person.name}, technique {held.technique}", end.at))
    return rows
