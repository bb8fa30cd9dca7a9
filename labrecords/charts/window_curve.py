"""Strength at the sealing settings of a window: every pack, the fitted curve, and the bounds around it."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from .figure import Axis, Bracket, Figure, Line, Points, Span, Table
from .limits import Limit, limit_line
from .values import sideways
from .words import counted, cut, fixed, spoken

_SYMBOLS = {"low": "arrow-down", "nominal": "circle", "high": "arrow-up", "corner": "diamond"}
_NEARER = 0.6  # how far sideways a pack stands from its setting, against the charts of groups


@dataclass(frozen=True)
class SettingPacks:
    """One setting: its label and kind, where it stands on the axis, and the value of each pack with the pack's code.

    `bound` and `upper` are its tolerance bounds, None where it has none; one not `acceptable` is outside the window.
    """

    label: str
    kind: str
    x: float
    values: tuple[float, ...]
    codes: tuple[str, ...]
    bound: float | None = None
    upper: float | None = None
    acceptable: bool = True


@dataclass(frozen=True)
class CurvePoint:
    """The fitted curve at one place of the axis, with the tolerance bounds below and above it."""

    x: float
    fitted: float
    low: float
    high: float


def window_curve(
    settings: Sequence[SettingPacks],
    *,
    unit: str,
    decimals: int,
    axis: str,
    curve: Sequence[CurvePoint] = (),
    limits: Sequence[Limit] = (),
    place: str = "",
    figure_id: str = "window",
) -> Figure:
    """Draw the packs of every setting of one place of the pack. Raises ValueError when none has a value.

    `axis` names the factor that moves, with its unit, or says that the settings stand in their order.
    """
    filled = [setting for setting in settings if setting.values]
    if not filled:
        raise ValueError("There is no value to draw: enter results, or leave this figure out.")
    step = _step(settings)
    said = _finding(filled, unit=unit, decimals=decimals)
    where = f" at {place}" if place else ""
    return Figure(
        id=figure_id,
        title=said,
        subtitle=f"Every mark is one pack{where}. The band marks the acceptable settings, brackets the bounds.",
        x=Axis(
            axis,
            0,
            min(setting.x for setting in settings) - 0.6 * step,
            max(setting.x for setting in settings) + 0.6 * step,
            tuple((setting.x, setting.label) for setting in settings),
        ),
        y=_y_axis(filled, curve, limits, unit=unit, decimals=decimals),
        label=cut(
            f"Maximum seal strength in {spoken(unit)} at {counted(len(settings), 'setting')}. {said}", longest=240
        ),
        summary=tuple(_sentence(setting, unit=unit, decimals=decimals) for setting in filled),
        table=_table(filled, unit=unit, decimals=decimals),
        points=tuple(_points(setting, step, unit=unit, decimals=decimals) for setting in filled),
        lines=tuple(_lines(curve)),
        spans=_window(settings),
        limits=tuple(limit_line(limit, decimals=decimals, unit=unit) for limit in limits),
        brackets=tuple(_brackets(filled, step, decimals=decimals)),
    )


def _step(settings: Sequence[SettingPacks]) -> float:
    places = sorted({setting.x for setting in settings})
    return min((after - before for before, after in itertools.pairwise(places)), default=1.0)


def _finding(settings: Sequence[SettingPacks], *, unit: str, decimals: int) -> str:
    inside = [setting for setting in settings if setting.acceptable] or settings
    weakest = min(inside, key=lambda setting: sum(setting.values) / len(setting.values))
    mean = fixed(sum(weakest.values) / len(weakest.values), decimals=decimals)
    return f"{weakest.label.capitalize()} is the weakest acceptable setting, with a mean of {mean} {unit}."


def _sentence(setting: SettingPacks, *, unit: str, decimals: int) -> str:
    low, high = (fixed(end, decimals=decimals) for end in (min(setting.values), max(setting.values)))
    bound = "no lower bound" if setting.bound is None else f"lower bound {fixed(setting.bound, decimals=decimals)}"
    packs = counted(len(setting.values), "pack")
    return f"{setting.label}: {packs}, {low} to {high} {unit}, {bound}."


def _y_axis(settings, curve, limits, *, unit: str, decimals: int) -> Axis:
    seen = [value for setting in settings for value in setting.values]
    seen += [end for setting in settings for end in (setting.bound, setting.upper) if end is not None]
    seen += [float(limit.value) for limit in limits]
    seen += [point.fitted for point in curve]
    low, high = min(seen), max(seen)
    room = 0.08 * (high - low or abs(high) or 1.0)
    return Axis(f"Maximum seal strength, {unit}", decimals, low - room, high + room)


def _points(setting: SettingPacks, step: float, *, unit: str, decimals: int) -> Points:
    return Points(
        name=setting.label,
        x=tuple(setting.x + _NEARER * step * sideways(code) for code in setting.codes),
        y=setting.values,
        codes=setting.codes,
        hover=tuple(
            f"{code}, {setting.label}: {fixed(value, decimals=decimals)} {unit}"
            for code, value in zip(setting.codes, setting.values, strict=True)
        ),
        symbol=_SYMBOLS[setting.kind],
        colour="series-1",
        filled=setting.acceptable,
    )


def _lines(curve: Sequence[CurvePoint]) -> list[Line]:
    if not curve:
        return []
    x = tuple(point.x for point in curve)
    return [
        Line("fitted curve", x, tuple(point.fitted for point in curve), "series-2"),
        Line("tolerance band of the curve", x, tuple(point.low for point in curve), "series-2", dash="dash"),
        Line("upper end of the band", x, tuple(point.high for point in curve), "series-2", dash="dash", key=False),
    ]


def _window(settings: Sequence[SettingPacks]) -> tuple[Span, ...]:
    inside = sorted((setting for setting in settings if setting.acceptable), key=lambda setting: setting.x)
    if len(inside) < 2 or inside[0].x == inside[-1].x:
        return ()
    return (Span(inside[0].x, inside[-1].x, "", ""),)


def _brackets(settings: Sequence[SettingPacks], step: float, *, decimals: int) -> list[Bracket]:
    return [
        Bracket(setting.x + 0.35 * step, end, fixed(end, decimals=decimals))
        for setting in settings
        for end in (setting.bound, setting.upper)
        if end is not None
    ]


def _table(settings: Sequence[SettingPacks], *, unit: str, decimals: int) -> Table:
    rows = [
        (code, setting.label, fixed(value, decimals=decimals))
        for setting in settings
        for code, value in zip(setting.codes, setting.values, strict=True)
    ]
    return Table("Packs by setting", ("Pack", "Setting", unit), tuple(rows), tuple(row[0] for row in rows))
