"""The laboratory's own entry."""

import zoneinfo
from datetime import datetime

from django.db import transaction

from labrecords.models import Laboratory, User
from labrecords.queries import access

from . import trail


@transaction.atomic(durable=True)
def describe(
    *, name: str, address: str, place_of_work: str, time_zone: str, paper: str, by: User, at: datetime
) -> Laboratory:
    """Name the laboratory and fix its time zone; the zone decides on which day a test was made."""
    access.demand(by, "keep people")
    if time_zone not in zoneinfo.available_timezones():
        raise ValueError(f"time_zone must be a name such as Europe/Dublin, came as {time_zone!r}")
    lab = Laboratory.objects.select_for_update().first() or Laboratory()
    before = _described(lab) if lab.name else None
    lab.name, lab.address, lab.place_of_work = name, address, place_of_work
    lab.time_zone, lab.paper = time_zone, paper
    lab.save()
    trail.write("laboratory.described", subject="laboratory", by=by, at=at, before=before, after=_described(lab))
    return lab


def _described(lab: Laboratory) -> dict[str, str]:
    return {field: getattr(lab, field) for field in ("name", "address", "place_of_work", "time_zone", "paper")}
