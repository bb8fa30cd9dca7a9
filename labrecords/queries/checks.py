"""Checks before use: what tester and cell showed for a mass or a strip, on which day, against which baseline."""

from datetime import datetime

from django.db.models import QuerySet

from labrecords.models import CheckBaseline, CheckReading, Equipment
from labrecords.rules import facts

from . import lab


def of_the_day(tester: Equipment, cell: Equipment, moment: datetime) -> tuple[facts.Check, ...]:
    """The checks of tester and cell together, on the day of a moment and before it."""
    zone = lab.zone()
    local = moment.astimezone(zone)
    midnight = local.replace(hour=0, minute=0, second=0, microsecond=0)
    found = CheckReading.objects.filter(
        tester=tester, cell=cell, taken_at__gte=midnight, taken_at__lte=moment
    ).select_related("standard")
    # by the time of the check and then of its entry, as the database orders them
    return tuple(
        facts.Check(made.standard.kind, made.taken_at.astimezone(zone), made.accepted)
        for made in found.order_by("taken_at", "at", "pk")
    )


def baseline(tester: Equipment, cell: Equipment, standard: Equipment) -> CheckBaseline | None:
    """The baseline in force for a pair and a standard: the newest."""
    return CheckBaseline.objects.filter(tester=tester, cell=cell, standard=standard).first()


def readings(tester: Equipment, cell: Equipment, standard: Equipment) -> QuerySet[CheckReading]:
    """All readings of a pair against a standard, in order of time."""
    found = CheckReading.objects.filter(tester=tester, cell=cell, standard=standard)
    return found.select_related("by", "baseline").order_by("taken_at", "at", "pk")


def pairs(cell: Equipment) -> list[tuple[Equipment, Equipment]]:
    """Testers and standards with which a cell has been checked."""
    found = CheckReading.objects.filter(cell=cell).order_by().values_list("tester", "standard").distinct()
    items = Equipment.objects.in_bulk({key for pair in found for key in pair})
    return sorted(((items[one], items[other]) for one, other in found), key=lambda pair: (pair[0].label, pair[1].label))
