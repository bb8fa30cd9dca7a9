"""Equipment as it stood on a day: in service or not, and the calibration in force."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import QuerySet

from labrecords.models import Calibration, Equipment, EquipmentEvent
from labrecords.rules import facts
from labrecords.rules.calibration import check_equipment

from . import lab

IN_SERVICE = "in service"


def calibration_on(item: Equipment, day: date) -> Calibration | None:
    """The latest reviewed calibration performed on or before a day, whether past due or not."""
    return (
        Calibration.objects.filter(equipment=item, performed_on__lte=day, review__isnull=False)
        .order_by("-performed_on", "-at")
        .first()
    )


def status_at(item: Equipment, moment: datetime) -> str:
    """In service, out of service or retired, at a moment."""
    latest = (
        EquipmentEvent.objects.filter(equipment=item, happened_at__lte=moment).order_by("-happened_at", "-at").first()
    )
    return _status(latest.kind if latest else None)


def _status(kind: str | None) -> str:
    return kind if kind in (EquipmentEvent.OUT, EquipmentEvent.RETIRED) else IN_SERVICE


def as_facts(item: Equipment, moment: datetime, day: date) -> facts.Equipment:
    """An item as the gate sees it at the moment of a test."""
    return _facts(item, status_at(item, moment), calibration_on(item, day))


def _facts(item: Equipment, status: str, calibration: Calibration | None) -> facts.Equipment:
    return facts.Equipment(
        label=item.label,
        name=item.name,
        capacity_n=item.capacity_n,
        status=status,
        calibration=calibration
        and facts.Calibration(
            certificate=calibration.certificate,
            performed_on=calibration.performed_on,
            due_on=calibration.due_on,
            passed=calibration.passed,
            verified_low_n=calibration.verified_low_n,
            verified_high_n=calibration.verified_high_n,
            noise_n=calibration.noise_n,
        ),
    )


@dataclass(frozen=True)
class Standing:
    """An item with its calibration in force today and what keeps it from being used, if anything does."""

    item: Equipment
    status: str
    calibration: Calibration | None
    days_left: int | None
    stops: tuple


def standings(moment: datetime) -> list[Standing]:
    """All equipment that is not retired, soonest due first; a constant number of queries."""
    day = lab.day(moment)
    items = list(Equipment.objects.all())
    latest = _latest_calibrations(day)
    kinds = _latest_kinds(items, moment)
    rows = [_standing(item, kinds.get(item.pk), latest.get(item.pk), day) for item in items]
    kept = [row for row in rows if row.status != EquipmentEvent.RETIRED]
    return sorted(kept, key=lambda row: (row.days_left is not None, row.days_left or 0, row.item.label))


def _standing(item: Equipment, kind: str | None, calibration: Calibration | None, day: date) -> Standing:
    status = _status(kind)
    return Standing(
        item=item,
        status=status,
        calibration=calibration,
        days_left=(calibration.due_on - day).days if calibration else None,
        stops=tuple(check_equipment(_facts(item, status, calibration), on=day)),
    )


def _latest_calibrations(day: date) -> dict:
    found: QuerySet[Calibration] = (
        Calibration.objects.filter(performed_on__lte=day, review__isnull=False)
        .order_by("equipment_id", "-performed_on", "-at")
        .distinct("equipment_id")
    )
    return {calibration.equipment_id: calibration for calibration in found}


def _latest_kinds(items: Iterable[Equipment], moment: datetime) -> dict:
    found = (
        EquipmentEvent.objects.filter(happened_at__lte=moment, equipment__in=items)
        .order_by("equipment_id", "-happened_at", "-at")
        .distinct("equipment_id")
    )
    return {event.equipment_id: event.kind for event in found}
