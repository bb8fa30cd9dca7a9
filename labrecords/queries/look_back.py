"""Look-back: every result since the last good calibration of an item, and what the error found may have changed."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from django.db.models import Exists, OuterRef

from labrecords.models import Calibration, Equipment, Report, Result, Study, Void
from labrecords.rules.look_back import could_change, margin_percent
from labrecords.rules.study_states import RELEASED, WITHDRAWN

from . import equipment, lab, values

# By which way an item comes to a result.
WAYS = {
    Equipment.TESTER: "run__tester",
    Equipment.CELL: "run__cell",
    Equipment.GAUGE: "run__width_gauge",
    Equipment.SENSOR: "run__room_sensor",
    Equipment.CUTTER: "specimen__cutter",
}
COLUMNS = (
    *("pk", "specimen__label", "specimen__study", "specimen__pack__lot__name", "tested_at"),
    *("strength", "censored", "marks", "void"),
)


MOST_SHOWN = 200


@dataclass(frozen=True)
class Touched:
    """One result taken with the item: how near it is to a limit, and whether the error could change the verdict.

    `strength` is None where it could not be measured, or waits for a decision and is not shown.
    """

    specimen: str
    study_pk: Any
    lot: str
    tested_at: datetime
    strength: Decimal | None
    margin_percent: float | None
    could_change: bool
    note: str


@dataclass(frozen=True)
class StudyTouched:
    """A study with results taken with the item, its released reports, and its client."""

    study: Study
    results: tuple[Touched, ...]
    reports: tuple[Report, ...]

    @property
    def changeable(self) -> int:
        return sum(row.could_change for row in self.results)

    @property
    def count(self) -> int:
        return len(self.results)

    @property
    def lots(self) -> list[str]:
        return sorted({row.lot for row in self.results})

    @property
    def nearest(self) -> float | None:
        """The smallest margin to a limit, in per cent."""
        return min((row.margin_percent for row in self.results if row.margin_percent is not None), default=None)

    @property
    def shown(self) -> list[Touched]:
        """The results a page shows: those whose verdict could change, then those nearest to a limit."""
        return sorted(self.results, key=lambda row: (not row.could_change, _nearness(row)))[:MOST_SHOWN]

    @property
    def numbers(self) -> list[str]:
        """Numbers of the released reports, with their issue."""
        return [f"{report.number} issue {report.issue}" for report in self.reports]

    @property
    def unreleased(self) -> bool:
        return self.study.state not in (RELEASED, WITHDRAWN)


def _nearness(row: Touched) -> float:
    return float("inf") if row.margin_percent is None else abs(row.margin_percent)


@dataclass(frozen=True)
class LookBack:
    """What was done with an item between its last good calibration and one that found it out."""

    calibration: Calibration
    last_good: Calibration | None
    since: date | None
    studies: tuple[StudyTouched, ...]

    @property
    def results(self) -> int:
        return sum(len(touched.results) for touched in self.studies)

    @property
    def changeable(self) -> int:
        return sum(touched.changeable for touched in self.studies)

    @property
    def reports(self) -> list[Report]:
        return [report for touched in self.studies for report in touched.reports]

    @property
    def clients(self) -> list[str]:
        return sorted({touched.study.project.client.name for touched in self.studies})


def since_last_good(calibration: Calibration) -> LookBack:
    """Every result since the last good calibration of the item, until the day of this one."""
    item = calibration.equipment
    last_good = (
        equipment.counting()
        .filter(equipment=item, performed_on__lt=calibration.performed_on, passed=True)
        .order_by("-performed_on", "-at", "-pk")
        .first()
    )
    since = last_good.performed_on if last_good else None
    rows = list(_rows(item, since, calibration.performed_on)) if item.kind in WAYS else []
    return LookBack(calibration, last_good, since, tuple(_by_study(rows, calibration.as_found_error_percent)))


def _rows(item: Equipment, since: date | None, until: date) -> Iterator[tuple]:
    zone = lab.zone()
    newer = Result.objects.filter(supersedes=OuterRef("pk"))
    found = Result.objects.filter(**{WAYS[item.kind]: item}).exclude(Exists(newer))
    if since is not None:
        found = found.filter(tested_at__gte=datetime.combine(since, time(), zone))
    found = found.filter(tested_at__lt=datetime.combine(until + timedelta(days=1), time(), zone))
    found = found.annotate(void=Exists(Void.objects.filter(specimen=OuterRef("specimen"))))
    return found.order_by("specimen__label").values_list(*COLUMNS).iterator(chunk_size=5000)


def _by_study(rows: list[tuple], error_percent: float | None) -> Iterator[StudyTouched]:
    studies = Study.objects.filter(pk__in={row[2] for row in rows}).select_related("project__client", "setup")
    known = {study.pk: study for study in studies.prefetch_related("limits", "reports").order_by("code")}
    limits = {pk: [(limit.side, value) for limit, value in values.limits(study)] for pk, study in known.items()}
    waiting = set(values.undecided().filter(result__specimen__study__in=known).values_list("result", flat=True))
    touched = defaultdict(list)
    for row in rows:
        touched[row[2]].append(_touched(row, limits[row[2]], error_percent, row[0] in waiting))
    for pk, study in known.items():
        yield StudyTouched(study, tuple(touched[pk]), tuple(study.reports.all()))


def _touched(row: tuple, limits: list, error_percent: float | None, waits: bool) -> Touched:
    _, label, study, lot, tested_at, strength, censored, _, void = row
    note = "void" if void else "waits for a decision: not shown" if waits else f"{censored} range" if censored else ""
    shown = None if waits or censored else strength
    changes = (
        shown is not None
        and not void
        and error_percent is not None
        and could_change(shown, limits, error_percent=error_percent)
    )
    margin = margin_percent(shown, limits) if shown is not None else None
    return Touched(label, study, lot, tested_at, shown, margin, changes, note)
