"""Equipment as it stood on a day: in service or not, and the calibration in force."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from django.db.models import Exists, OuterRef, QuerySet

from labrecords.models import Calibration, Equipment, EquipmentEvent
from labrecords.rules import facts
from labrecords.rules.calibration import check_equipment

from . import lab

IN_SERVICE = "in service"


def calibration_on(item: Equipment, day: date) -> Calibration | None:
    """The latest reviewed calibration performed on or before a day, whether past due or not."""
    return _latest_calibrations([item], day).get(item.pk)


def counting() -> QuerySet[Calibration]:
    """Calibrations that count: reviewed, and not superseded by another that has been reviewed."""
    better = Calibration.objects.filter(supersedes=OuterRef("pk"), review__isnull=False)
    return Calibration.objects.filter(review__isnull=False).exclude(Exists(better))


def status_at(item: Equipment, moment: datetime) -> str:
    """In service, out of service or retired, at a moment."""
    return _status(_latest_kinds([item], moment).get(item.pk))


def _status(kind: str | None) -> str:
    return kind if kind in EquipmentEvent.STOPS else IN_SERVICE


def as_facts(item: Equipment, moment: datetime, day: date) -> facts.Equipment:
    """An item as the gate sees it at the moment of a test."""
    return all_as_facts([item], moment, day)[0]


def all_as_facts(items: Sequence[Equipment], moment: datetime, day: date) -> list[facts.Equipment]:
    """Each item as the gate sees it at the moment of a test; two queries, however many items."""
    kinds, latest = _latest_kinds(items, moment), _latest_calibrations(items, day)
    return [_facts(item, _status(kinds.get(item.pk)), latest.get(item.pk)) for item in items]


def _facts(item: Equipment, status: str, calibration: Calibration | None) -> facts.Equipment:
    return facts.Equipment(
        label=item.label,
        name=item.name,
        capacity_n=item.capacity_n or 0.0,
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
        calibrated=needs_calibration(item),
    )


def needs_calibration(item: Equipment) -> bool:
    """Whether an item is used only in calibration: what measures force always, others where an interval is set."""
    return item.kind in Equipment.FORCE or item.interval_months is not None


def with_noise(item: facts.Equipment, noise_n: float | None) -> facts.Equipment:
    """The item with a noise that was measured in place of its calibration's, where there is one."""
    if noise_n is None or item.calibration is None:
        return item
    return replace(item, calibration=replace(item.calibration, noise_n=noise_n))


@dataclass(frozen=True)
class Standing:
    """An item with its calibration in force today and what keeps it from being used, if anything does."""

    item: Equipment
    status: str
    calibration: Calibration | None
    days_left: int | None
    stops: tuple


def facts_of(row: Standing) -> facts.Equipment:
    """An item as the gate sees it, from a row of `standings`."""
    return _facts(row.item, row.status, row.calibration)


def standings(moment: datetime) -> list[Standing]:
    """All equipment that is not retired, soonest due first; a constant number of queries."""
    day = lab.day(moment)
    items = list(Equipment.objects.all())
    latest = _latest_calibrations(items, day)
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


def _latest_calibrations(items: Iterable[Equipment], day: date) -> dict:
    found: QuerySet[Calibration] = (
        counting()
        .filter(performed_on__lte=day, equipment__in=items)
        .order_by("equipment_id", "-performed_on", "-at", "-pk")
        .distinct("equipment_id")
    )
    return {calibration.equipment_id: calibration for calibration in found}


def _latest_kinds(items: Iterable[Equipment], moment: datetime) -> dict:
    found = (
        EquipmentEvent.objects.filter(happened_at__lte=moment, equipment__in=items, kind__in=EquipmentEvent.SERVICE)
        .order_by("equipment_id", "-happened_at", "-at", "-pk")
        .distinct("equipment_id")
    )
    return {event.equipment_id: event.kind for event in found}
