"""One trace reduced twice: as the set-up says, and otherwise, as a look that nobody keeps."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .figure import Axis, Figure, Line, Span, Table
from .thin import thin
from .words import fixed

PIXEL_COLUMNS = 300  # across a figure 170 mm wide
LOCKED, TRIED = "locked", "tried"
COLUMNS = (
    "Reduction",
    "Threshold, % of the peak",
    "Analysed, % of the peel",
    "Span, mm",
    "Average, N",
    "Largest within, N",
    "Peak of the trace, N",
    "Readings",
)


@dataclass(frozen=True)
class Reduction:
    """What a trace says by one rule: newtons and millimetres; `mean_n` is None where no average is reported."""

    threshold_percent: float
    span_percent: float
    from_mm: float
    to_mm: float
    mean_n: float | None
    largest_n: float
    peak_n: float
    readings: int


def two_reductions(
    code: str, displacement_mm: Sequence[float], force_n: Sequence[float], *, locked: Reduction, tried: Reduction
) -> Figure:
    """The trace with the locked span as a band and the tried one between broken lines, and both averages."""
    travel, force = np.asarray(displacement_mm, dtype=float), np.asarray(force_n, dtype=float)
    high = float(force.max()) * 1.05
    low = min(float(force.min()), 0.0)
    return Figure(
        id="look",
        title=f"Only a look: {_difference(locked, tried)}",
        subtitle=f"{code}: band, the locked span; broken lines, the span tried. The recorded numbers stay as locked.",
        x=Axis("Displacement, mm", 1, float(travel.min()), float(travel.max())),
        y=Axis("Force, N", 2, low, high),
        label=f"Line plot of force in newtons against displacement in millimetres of {code}, with two analysed spans. "
        "Summary and data table follow.",
        summary=(_sentence("As locked", locked), _sentence("As tried", tried)),
        table=_table(locked, tried),
        lines=(_trace(code, travel, force), *_averages(locked, tried), _ends(tried, low, high)),
        spans=(Span(locked.from_mm, locked.to_mm, f"{locked.from_mm:.1f} mm", f"{locked.to_mm:.1f} mm"),),
    )


def _difference(locked: Reduction, tried: Reduction) -> str:
    if locked.mean_n is None or tried.mean_n is None:
        return "no average is reported of this strip, whatever the span."
    if locked.mean_n == tried.mean_n:
        return f"the average is {fixed(tried.mean_n, decimals=3)} N, as locked."
    means = (fixed(one.mean_n, decimals=3) for one in (tried, locked) if one.mean_n is not None)
    return "the average would be {} N, and is {} N as locked.".format(*means)


def _sentence(name: str, one: Reduction) -> str:
    average = "no average" if one.mean_n is None else f"average {fixed(one.mean_n, decimals=3)} N"
    return (
        f"{name}, from {fixed(one.from_mm, decimals=1)} to {fixed(one.to_mm, decimals=1)} mm: {average}, "
        f"largest force within {fixed(one.largest_n, decimals=3)} N; peak of the trace "
        f"{fixed(one.peak_n, decimals=3)} N."
    )


def _trace(code: str, travel: np.ndarray, force: np.ndarray) -> Line:
    x, y = thin(travel, force, columns=PIXEL_COLUMNS)
    return Line(code, tuple(map(float, x)), tuple(map(float, y)), "ink-3")


def _averages(locked: Reduction, tried: Reduction) -> list[Line]:
    looks = (
        (locked, "average over the locked span", "solid", "series-1"),
        (tried, "average over the span tried", "dashdot", "series-2"),
    )
    return [
        Line(name, (one.from_mm, one.to_mm), (one.mean_n, one.mean_n), colour, dash=dash, width_pt=2.0)
        for one, name, dash, colour in looks
        if one.mean_n is not None
    ]


def _ends(tried: Reduction, low: float, high: float) -> Line:
    x = (tried.from_mm, tried.from_mm, None, tried.to_mm, tried.to_mm)
    return Line("ends of the span tried", x, (low, high, None, low, high), "series-2", dash="dash")


def _table(locked: Reduction, tried: Reduction) -> Table:
    rows = (_row("locked: the recorded numbers", locked), _row("tried: only a look", tried))
    return Table("The trace reduced twice", COLUMNS, rows, (LOCKED, TRIED))


def _row(name: str, one: Reduction) -> tuple[str, ...]:
    return (
        name,
        f"{one.threshold_percent:g}",
        f"{one.span_percent:g}",
        f"{fixed(one.from_mm, decimals=3)} to {fixed(one.to_mm, decimals=3)}",
        "none" if one.mean_n is None else fixed(one.mean_n, decimals=6),
        fixed(one.largest_n, decimals=6),
        fixed(one.peak_n, decimals=6),
        str(one.readings),
    )
