"""The verified range of a tester or load cell, from the forces that were applied and what was read."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

# ASTM E4 (as quoted by makers of test equipment): every reading within 1 %, and no verified force below 200 times
# the resolution of the indicator; five forces, or five in each decade.
E4, E4_ERROR_PERCENT, E4_RESOLUTIONS = "E4", 1.0, 200
FEWEST_FORCES = 5
# ISO 7500-1:2018, from memory: relative error and repeatability in per cent, and times the resolution.
ISO_CLASSES = {
    "0.5": (0.5, 0.5, 400),
    "1": (1.0, 1.0, 200),
    "2": (2.0, 2.0, 100),
    "3": (3.0, 3.0, 67),
}
RULES = (E4, *(f"class {name}" for name in ISO_CLASSES))


@dataclass(frozen=True)
class Point:
    """One applied force and the readings of it, in newtons."""

    applied: float
    readings: tuple[float, ...]

    @property
    def error_percent(self) -> float:
        """The error of the reading farthest off, with its sign.

        >>> round(Point(10.0, (10.02, 9.99)).error_percent, 3)
        0.2
        """
        worst = max(self.readings, key=lambda reading: abs(reading - self.applied))
        return 100 * (worst - self.applied) / self.applied

    @property
    def mean_error_percent(self) -> float:
        """The error of the mean reading, with its sign."""
        return 100 * (sum(self.readings) / len(self.readings) - self.applied) / self.applied

    @property
    def repeatability_percent(self) -> float:
        """The range of the readings over the applied force."""
        return 100 * (max(self.readings) - min(self.readings)) / self.applied


@dataclass(frozen=True)
class VerifiedRange:
    """From which force to which the item is verified, in newtons; None where it is nowhere. `notes` say why."""

    low_n: float | None
    high_n: float | None
    notes: tuple[str, ...] = ()


def points_of(rows: Iterable[Sequence[str]]) -> tuple[Point, ...]:
    """Rows of texts as points, by applied force."""
    made = [Point(float(row[0]), tuple(float(reading) for reading in row[1:])) for row in rows]
    return tuple(sorted(made, key=lambda point: point.applied))


def verified_range(points: Sequence[Point], *, resolution_n: float | None, rule: str) -> VerifiedRange:
    """The longest unbroken stretch of forces at which the item meets the rule.

    Examples
    --------
    >>> points = [Point(force, (force * 1.002,)) for force in (0.1, 0.5, 1, 2, 4, 7, 10)]
    >>> verified_range(points, resolution_n=0.001, rule="E4")
    VerifiedRange(low_n=0.5, high_n=10, notes=('Verified from 0.5 N: below 0.2 N its resolution is too coarse.',))
    """
    least = resolution_n * _resolutions(rule) if resolution_n else 0.0
    stretches = _stretches(points, [point.applied >= least and _meets(point, rule) for point in points])
    if not stretches:
        return VerifiedRange(None, None, ("It meets the rule at none of the forces.",))
    held = max(stretches, key=lambda stretch: (len(stretch), stretch[-1].applied))
    return VerifiedRange(held[0].applied, held[-1].applied, tuple(_notes(points, held, least)))


def largest_error_percent(points: Sequence[Point], *, low_n: float, high_n: float) -> float | None:
    """The largest error of any reading between two forces, with its sign; None where none was applied."""
    errors = [point.error_percent for point in points if low_n <= point.applied <= high_n]
    return max(errors, key=abs, default=None)


def _resolutions(rule: str) -> int:
    return E4_RESOLUTIONS if rule == E4 else ISO_CLASSES[rule.removeprefix("class ")][2]


def _meets(point: Point, rule: str) -> bool:
    if rule == E4:
        return abs(point.error_percent) <= E4_ERROR_PERCENT
    error, repeatability, _ = ISO_CLASSES[rule.removeprefix("class ")]
    return abs(point.mean_error_percent) <= error and point.repeatability_percent <= repeatability


def _stretches(points: Sequence[Point], met: Sequence[bool]) -> list[list[Point]]:
    stretches: list[list[Point]] = [[]]
    for point, good in zip(points, met, strict=True):
        if good:
            stretches[-1].append(point)
        elif stretches[-1]:
            stretches.append([])
    return [stretch for stretch in stretches if stretch]


def _notes(points: Sequence[Point], held: Sequence[Point], least: float) -> Iterable[str]:
    low, high = held[0].applied, held[-1].applied
    if points[0].applied < least:
        yield f"Verified from {low:g} N: below {least:g} N its resolution is too coarse."
    outside = [point for point in points if point not in held and point.applied >= least]
    if outside:
        forces = ", ".join(f"{point.applied:g}" for point in outside)
        yield f"Not verified at {forces} N, where it does not meet the rule, or beyond such a force."
    if len(held) < FEWEST_FORCES:
        yield f"Only {len(held)} forces were applied in this range; the standards ask for {FEWEST_FORCES}."
    thin = [f"{top / 10:g} to {top:g}" for top in _decades(low, high) if _thin(held, top)]
    if thin and len(held) >= FEWEST_FORCES:
        yield f"Fewer than {FEWEST_FORCES} forces were applied from {', '.join(thin)} N."


def _decades(low: float, high: float) -> Iterable[float]:
    while high > low:
        yield high
        high /= 10


def _thin(held: Sequence[Point], top: float) -> bool:
    slack = 1e-9 * top
    inside = [point for point in held if top / 10 - slack <= point.applied <= top + slack]
    return top / 10 >= held[0].applied - slack and len(inside) < FEWEST_FORCES
