"""Normal probability plot: for looking whether a normal model fits, tails included."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from labrecords.stats.probability import NormalPositions, normal_positions

from .figure import LONGEST_LABEL, Axis, Figure, Line, Points, Table
from .limits import Limit, Value, beyond, limit_line
from .words import Number, counted, cut, exact, fixed, spoken

TICKS = (1, 5, 10, 25, 50, 75, 90, 95, 99)
FEWEST = 15  # values, common practice, no source
_METHOD = (
    "Plotting position (i − 0.375)/(n + 0.25); line through the mean and standard deviation of the values; "
    "pointwise 95 % band of the ordered values of a normal sample with that mean and standard deviation"
)


def probability_plot(
    values: Sequence[Number],
    codes: Sequence[str],
    *,
    unit: str,
    decimals: int,
    limits: Sequence[Limit] = (),
    quantity: str = "Peak force",
    group: str = "",
    figure_id: str = "probability",
) -> Figure:
    """Draw the ordered values against normal quantiles, with the fitted line and a pointwise 95 % band."""
    if len(values) != len(codes):
        raise ValueError("A probability plot needs one specimen code for each value.")
    found = normal_positions([float(value) for value in values])
    items = [Value(codes[index], values[index], group) for index in found.order]
    title = _title(found)
    return Figure(
        id=figure_id,
        title=title,
        subtitle=f"{quantity}{f' of {group}' if group else ''}, n = {len(items)}. {_METHOD}.",
        x=_x_axis(found, limits, label=f"{quantity}, {unit}", decimals=decimals),
        y=_y_axis(found),
        label=_label(found, unit=unit),
        summary=_summary(found, items, limits, unit=unit, decimals=decimals),
        table=_table(found, items, quantity=quantity, unit=unit, decimals=decimals),
        points=_points(found, items, unit=unit, decimals=decimals),
        lines=_lines(found),
        limits=tuple(limit_line(limit, decimals=decimals, unit=unit, axis="x") for limit in limits),
        aspect=0.6,
    )


def _left(found: NormalPositions) -> NDArray[np.bool_]:
    return found.value < found.low


def _right(found: NormalPositions) -> NDArray[np.bool_]:
    return found.value > found.high


def _title(found: NormalPositions) -> str:
    outside = int((_left(found) | _right(found)).sum())
    caution = "" if found.value.size >= FEWEST else " Too few values to judge the tails."
    if outside == 0:
        return f"All {found.value.size} values lie within the band around the line.{caution}"
    verb = "lies" if outside == 1 else "lie"
    return f"{outside} of {found.value.size} values {verb} outside the band around the line.{caution}"


def _x_axis(found: NormalPositions, limits: Sequence[Limit], *, label: str, decimals: int) -> Axis:
    ends = [*found.value, *found.low, *found.high, *(float(limit.value) for limit in limits)]
    low, high = float(min(ends)), float(max(ends))
    margin = 0.05 * (high - low)
    return Axis(label, decimals, low - margin, high + margin)


def _y_axis(found: NormalPositions) -> Axis:
    from scipy.stats import norm

    ticks = tuple((float(norm.ppf(percent / 100)), f"{percent} %") for percent in TICKS)
    end = max(float(found.quantile[-1]), ticks[-1][0]) + 0.15
    return Axis("Share of values at or below", 0, -end, end, ticks)


def _label(found: NormalPositions, *, unit: str) -> str:
    text = f"Normal probability plot of {counted(found.value.size, 'value')}, in {spoken(unit)}, "
    text += f"with a pointwise 95 percent band. {_title(found)}"
    ending = " Summary and data table follow."
    return cut(text, longest=LONGEST_LABEL - len(ending)) + ending


def _summary(
    found: NormalPositions, items: Sequence[Value], limits: Sequence[Limit], *, unit: str, decimals: int
) -> tuple[str, ...]:
    sentences = [f"n = {len(items)}. {_title(found)}"]
    for side, outside in (("Left", _left(found)), ("Right", _right(found))):
        named = [item for item, flag in zip(items, outside, strict=True) if flag]
        if named:
            names = ", ".join(f"{item.code} {fixed(item.value, decimals=decimals)}" for item in named)
            sentences.append(f"{side} of the band: {names}.")
    for limit in limits:
        sentences += beyond(items, limit=limit, unit=unit, decimals=decimals)
    sentences.append("This figure is for looking: a band that holds every value does not prove the model.")
    return tuple(sentences)


def _table(found: NormalPositions, items: Sequence[Value], *, quantity: str, unit: str, decimals: int) -> Table:
    columns = ("Specimen", f"{quantity}, {unit}", "Plotting position, %", f"Band, {unit}")
    rows = tuple(
        (
            item.code,
            fixed(item.value, decimals=decimals),
            fixed(100 * float(share), decimals=1),
            f"{fixed(float(low), decimals=decimals)} to {fixed(float(high), decimals=decimals)}",
        )
        for item, share, low, high in zip(items, found.share, found.low, found.high, strict=True)
    )
    return Table("Ordered values and their plotting positions", columns, rows, tuple(item.code for item in items))


def _points(found: NormalPositions, items: Sequence[Value], *, unit: str, decimals: int) -> tuple[Points, ...]:
    outside = _left(found) | _right(found)
    series = []
    for flag, name, symbol, colour in (
        (False, "within the band", "circle", "series-1"),
        (True, "outside the band", "diamond", "stop"),
    ):
        at = np.flatnonzero(outside == flag)
        hover = tuple(f"{items[i].code}: {fixed(items[i].value, decimals=decimals)} {unit}" for i in at)
        x, y = tuple(float(exact(items[i].value)) for i in at), tuple(found.quantile[at].tolist())
        series.append(Points(name, x, y, tuple(items[i].code for i in at), hover, symbol, colour, filled=flag))
    return tuple(points for points in series if points.x)


def _lines(found: NormalPositions) -> tuple[Line, ...]:
    heights = tuple(found.quantile.tolist())
    line = tuple((found.mean + found.sd * found.quantile).tolist())
    return (
        Line("fitted normal line", line, heights, "ink"),
        Line("95 % band", tuple(found.low.tolist()), heights, "edge", dash="dash"),
        Line("95 % band, right edge", tuple(found.high.tolist()), heights, "edge", dash="dash", key=False),
    )
