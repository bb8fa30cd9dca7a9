"""Control charts of the checks of tester and cell: single readings, and their moving ranges."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from .figure import Axis, Figure, LimitLine, Line, Points, Table
from .words import counted, cut, fixed


@dataclass(frozen=True)
class CheckPoint:
    """One reading: when it was taken, its value in newtons, and the rules it broke, if any."""

    when: str
    value_n: float
    signals: tuple[str, ...] = ()


@dataclass(frozen=True)
class ChartLimits:
    """Limits from a named baseline, in newtons."""

    name: str
    centre: float
    sigma: float
    range_limit: float


def individuals_chart(points: Sequence[CheckPoint], *, limits: ChartLimits | None, decimals: int = 3) -> Figure:
    """Draw the readings in order of time, with three-sigma limits where there is a baseline."""
    lines = () if limits is None else _limit_lines(limits, decimals)
    broken = [point for point in points if point.signals]
    said = _finding(points, broken, limits)
    return Figure(
        id="checks",
        title=said,
        subtitle=f"Limits from: {limits.name}" if limits else "No limits yet: they are set from a named baseline.",
        x=_x(points),
        y=_y([point.value_n for point in points], [line.value for line in lines], "Reading, N", decimals),
        label=cut(f"Control chart of {counted(len(points), 'reading')} in newtons. {said}", longest=240),
        summary=tuple(f"{point.when}: {'; '.join(point.signals)}." for point in broken) or (said,),
        table=_table(points, decimals),
        points=_marks(points, [point.value_n for point in points], decimals),
        lines=_joined([point.value_n for point in points]),
        limits=lines,
    )


def moving_range_chart(points: Sequence[CheckPoint], *, limits: ChartLimits | None, decimals: int = 3) -> Figure:
    """Draw the moving ranges of two; needs two readings."""
    if len(points) < 2:
        raise ValueError("A moving range needs two readings.")
    values = [abs(after.value_n - before.value_n) for before, after in pairwise(points)]
    over = [] if limits is None else [value for value in values if value > limits.range_limit]
    said = f"{len(over)} of {counted(len(values), 'moving range')} beyond the limit." if limits else "No limit yet."
    lines = () if limits is None else (_line(limits.range_limit, "upper limit", "dash", decimals),)
    later = points[1:]
    return Figure(
        id="moving-ranges",
        title=said,
        subtitle="Difference of each reading from the one before it, without its sign.",
        x=_x(later),
        y=_y([0.0, *values], [line.value for line in lines], "Moving range, N", decimals),
        label=cut(f"Chart of {counted(len(values), 'moving range')} in newtons. {said}", longest=240),
        summary=(said,),
        table=Table(
            "Moving ranges",
            ("When", "Moving range, N"),
            tuple((point.when, fixed(value, decimals=decimals)) for point, value in zip(later, values, strict=True)),
            tuple(str(place) for place, _ in enumerate(later)),
        ),
        points=_marks(later, values, decimals),
        lines=_joined(values),
        limits=lines,
        aspect=0.35,
    )


def _finding(points, broken, limits) -> str:
    if limits is None:
        return f"{counted(len(points), 'reading')}, without limits."
    if not broken:
        return f"All {len(points)} readings lie where the baseline says they should."
    return f"{len(broken)} of {counted(len(points), 'reading')} broke a rule."


def _limit_lines(limits: ChartLimits, decimals: int) -> tuple[LimitLine, ...]:
    reach = 3 * limits.sigma
    return (
        _line(limits.centre + reach, "+3 sigma", "dash", decimals),
        _line(limits.centre, "centre", "solid", decimals),
        _line(limits.centre - reach, "−3 sigma", "dash", decimals),
    )


def _line(value: float, words: str, dash: str, decimals: int) -> LimitLine:
    return LimitLine(value, f"{words}\n{fixed(value, decimals=decimals)} N", dash)


def _x(points: Sequence[CheckPoint]) -> Axis:
    step = max(1, len(points) // 6)
    ticks = tuple((float(place), point.when) for place, point in enumerate(points) if place % step == 0)
    return Axis("Reading, in order of time", 0, -0.6, len(points) - 0.4, ticks)


def _y(values: Sequence[float], lines: Sequence[float], label: str, decimals: int) -> Axis:
    low, high = min(*values, *lines, min(values)), max(*values, *lines, max(values))
    margin = 0.1 * (high - low) or 0.01 * abs(high) or 1.0
    return Axis(label, decimals, low - margin, high + margin)


def _marks(points: Sequence[CheckPoint], values: Sequence[float], decimals: int) -> tuple[Points, ...]:
    series = []
    for flag, name, symbol, colour in (
        (False, "no signal", "circle", "series-1"),
        (True, "broke a rule", "diamond", "stop"),
    ):
        at = [place for place, point in enumerate(points) if bool(point.signals) == flag]
        hover = tuple(f"{points[i].when}: {fixed(values[i], decimals=decimals)} N" for i in at)
        x, y, codes = tuple(map(float, at)), tuple(values[i] for i in at), tuple(str(i) for i in at)
        series.append(Points(name, x, y, codes, hover, symbol, colour, filled=flag))
    return tuple(points for points in series if points.x)


def _joined(values: Sequence[float]) -> tuple[Line, ...]:
    return (Line("in order", tuple(map(float, range(len(values)))), tuple(values), "edge", key=False),)


def _table(points: Sequence[CheckPoint], decimals: int) -> Table:
    rows = tuple((p.when, fixed(p.value_n, decimals=decimals), "; ".join(p.signals) or "none") for p in points)
    return Table("Readings", ("When", "Reading, N", "Rules broken"), rows, tuple(str(i) for i, _ in enumerate(points)))
