"""Which load cell fits a force: each ranked by the relative uncertainty it would give at the weak end."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from statistics import median

from django.db.models import Exists, Max, Min, OuterRef

from labrecords.models import Calibration, Equipment, Result, Trace, Void
from labrecords.rules import facts
from labrecords.rules.answers import Answer
from labrecords.rules.cell_fit import check_cell, check_top
from labrecords.stats.force_uncertainty import relative_uncertainty

from . import equipment, values

# Noise is taken from the newest traces of a cell once there are so many. common practice, no source
FEWEST_TRACES, NEWEST_TRACES = 5, 50


@dataclass(frozen=True)
class Noise:
    """The noise of a cell as the quiet part of its newest traces shows it, in newtons, and from how many."""

    noise_n: float
    traces: int


@dataclass(frozen=True)
class Fit:
    """One load cell against the forces expected; `uncertainty` is expanded, as a share of the weak end."""

    item: Equipment
    calibration: Calibration | None
    noise: Noise | None
    share: float
    uncertainty: float | None
    answers: tuple[Answer, ...]
    stops: tuple[Answer, ...]

    @property
    def noise_n(self) -> float | None:
        """The noise to count with: measured where there are traces enough, the calibration's otherwise."""
        return self.noise.noise_n if self.noise else (self.calibration and self.calibration.noise_n)

    @property
    def hinders(self) -> bool:
        """Whether a run on it would be stopped for its fit."""
        return any(answer.code != "small-share" for answer in self.answers)

    @property
    def percent(self) -> float | None:
        return None if self.uncertainty is None else 100 * self.uncertainty

    @property
    def share_percent(self) -> float:
        return 100 * self.share

    def uncertainty_at(self, force_n: float) -> float | None:
        """The expanded relative uncertainty at a force; None where nothing is known of the cell."""
        if self.calibration is None:
            return None
        try:
            return relative_uncertainty(
                force_n,
                expanded_percent=self.calibration.expanded_uncertainty_percent,
                coverage_factor=self.calibration.coverage_factor,
                noise_n=self.noise_n,
                resolution_n=self.item.resolution_n,
            )
        except ValueError:
            return None


def measured_noise(cell: Equipment) -> Noise | None:
    """The median noise of the newest traces taken with a cell, from their quiet part before the pull."""
    newest = Trace.objects.filter(result__run__cell=cell).order_by("-at", "-pk").values_list("reduction", flat=True)
    found = [kept["noise_n"] for kept in newest[:NEWEST_TRACES] if kept.get("noise_n") is not None]
    return Noise(median(found), len(found)) if len(found) >= FEWEST_TRACES else None


def ranked(*, weak_n: float, strong_n: float, noise_share: float, moment: datetime) -> list[Fit]:
    """Every load cell that is not retired, the best fit first: usable ones by uncertainty, then the others."""
    rows = [row for row in equipment.standings(moment) if row.item.kind == Equipment.CELL]
    fits = [_fit(row, weak_n, strong_n, noise_share) for row in rows]
    return sorted(fits, key=_rank)


def _fit(row, weak_n: float, strong_n: float, noise_share: float) -> Fit:
    noise = measured_noise(row.item)
    cell = equipment.with_noise(equipment.facts_of(row), noise.noise_n if noise else None)
    answers = check_cell(cell, weak_n=weak_n, strong_n=strong_n, noise_share=noise_share, accepted=False)
    answers += check_top(cell, strong_n=strong_n, accepted=False)
    fit = Fit(row.item, row.calibration, noise, strong_n / cell.capacity_n, None, tuple(answers), row.stops)
    return Fit(**fit.__dict__ | {"uncertainty": fit.uncertainty_at(weak_n)})


def _rank(fit: Fit) -> tuple:
    return bool(fit.stops) or fit.hinders, fit.uncertainty is None, fit.uncertainty or 0.0, fit.item.label


def forces(weak_n: float, strong_n: float) -> Iterable[float]:
    """Forces at which a figure shows the uncertainty: from below the weak end to above the strong one."""
    low, high, steps = weak_n / 4, strong_n * 1.25, 60
    return [low * (high / low) ** (step / steps) for step in range(steps + 1)]


def facts_with_noise(cell: Equipment, moment: datetime, day) -> facts.Equipment:
    """A cell as the gate sees it when a run is opened, with its measured noise where there is one."""
    noise = measured_noise(cell)
    return equipment.with_noise(equipment.as_facts(cell, moment, day), noise.noise_n if noise else None)


@dataclass(frozen=True)
class Earlier:
    """What the strips of an earlier study gave, in newtons: weakest and strongest that could be measured."""

    code: str
    title: str
    technique: str
    weak_n: float
    strong_n: float


def earlier_forces(*, most: int = 10) -> list[Earlier]:
    """The newest studies with the forces of their results that count; a force above 0 at the weak end."""
    void = Void.objects.filter(specimen=OuterRef("specimen"))
    waiting = values.undecided().filter(result=OuterRef("pk"))
    known = Result.objects.filter(censored="", peak_force_n__gt=0).exclude(Exists(void)).exclude(Exists(waiting))
    rows = (
        known.order_by()
        .values("run__study__code", "run__study__title", "technique")
        .annotate(weak=Min("peak_force_n"), strong=Max("peak_force_n"))
        .order_by("-run__study__code")[:most]
    )
    return [
        Earlier(row["run__study__code"], row["run__study__title"], row["technique"], row["weak"], row["strong"])
        for row in rows
    ]
