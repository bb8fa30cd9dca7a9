"""Individual values by lot or position, with limits and tolerance bounds."""

import hashlib
import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from labrecords.stats.summary import summarise

from .figure import LONGEST_LABEL, Axis, Bracket, Figure, Line, Points, Table
from .limits import CENSORED, Limit, Value, beyond, finding, limit_line, outside_any, value_text
from .words import Number, counted, cut, exact, fixed, listed, spoken

_MODE_SYMBOLS = {
    "AP": "circle",
    "CO": "square",
    "DE": "diamond",
    "BS": "pentagon",
    "BR": "hexagon",
    "EL": "plus",
    "MX": "star",
}
_MODE_WORDS = {
    "AP": "adhesive peel",
    "CO": "cohesive",
    "DE": "delamination",
    "BS": "break at the seal",
    "BR": "break away from the seal",
    "EL": "elongation",
    "MX": "combination of modes",
    "": "mode not recorded",
}
_MARK_SYMBOLS = {"below": "arrow-down", "above": "arrow-up"}
_LABEL_ROOM = 72  # letters that fit below a figure 170 mm wide, shared by its groups
_NARROWEST_LABEL = 8
_HALF_WIDTH = 0.22  # how far sideways a point may stand from the middle of its group
_BOX_FROM = 20  # fewer values than this are better seen one by one, common practice, no source


@dataclass(frozen=True)
class Bound:
    """A tolerance bound of a group, with its statement in words."""

    value: Number
    text: str
    printed: str = ""  # rounded to the careful side by whoever computed it


@dataclass(frozen=True)
class GroupValues:
    """The values of one lot or position, in the order of their specimens.

    `modes` are failure mode keys ("AP", or several joined: "AP+CO"); `marks` are "" or a gate's mark:
    the value then is the verified limit, the capacity, or 0 for a seal that opened before the test.
    `mean` comes from the summary of the group; None draws no tick.
    """

    label: str
    values: tuple[Number, ...]
    codes: tuple[str, ...]
    modes: tuple[str, ...]
    marks: tuple[str, ...] = ()
    voids: tuple[bool, ...] = ()
    mean: Number | None = None
    bound: Bound | None = None

    def __post_init__(self) -> None:
        """Fill marks and voids that were not given, and refuse lists that do not fit together."""
        for name, nothing in (("marks", ""), ("voids", False)):
            if not getattr(self, name):
                object.__setattr__(self, name, (nothing,) * len(self.values))
        if {len(self.codes), len(self.modes), len(self.marks), len(self.voids)} != {len(self.values)}:
            raise ValueError(f"Group {self.label!r} needs one code, mode, mark and void flag for each value.")


@dataclass(frozen=True)
class _Dot:
    place: int
    item: Value
    mode: str
    void: bool


def individual_values(
    groups: Sequence[GroupValues],
    *,
    unit: str,
    decimals: int,
    limits: Sequence[Limit] = (),
    quantity: str = "Peak force",
    group_word: str = "lot",
    figure_id: str = "values",
    subtitle: str = "",
) -> Figure:
    """Draw every specimen beside its group, with the limits and the tolerance bounds.

    Values that are void or set aside are drawn and named, and counted in nothing. Raises ValueError when none counts.
    """
    dots = _dots(groups)
    kept = [dot.item for dot in dots if not dot.void]
    if not kept:
        raise ValueError("There is no value to draw: enter results, or leave this figure out.")
    title = _title(kept, limits=limits, unit=unit, decimals=decimals)
    return Figure(
        id=figure_id,
        title=title,
        subtitle=subtitle or _subtitle(dots, groups, limits, quantity=quantity),
        x=Axis(group_word.capitalize(), 0, -0.6, len(groups) - 0.4, _ticks(groups)),
        y=_y_axis(dots, groups, limits, label=f"{quantity}, {unit}", decimals=decimals),
        label=_label(kept, groups, limits, unit=unit, decimals=decimals, group_word=group_word),
        summary=_summary(dots, groups, limits, unit=unit, decimals=decimals, group_word=group_word),
        table=_table(dots, quantity=quantity, unit=unit, decimals=decimals, group_word=group_word),
        points=_points(dots, limits, unit=unit, decimals=decimals),
        lines=(*_boxes(groups), *_means(groups)),
        limits=tuple(limit_line(limit, decimals=decimals, unit=unit) for limit in limits),
        brackets=_brackets(groups, decimals=decimals),
    )


def sideways(code: str) -> float:
    """Give a specimen's place beside the middle of its group, from its code alone: two prints match.

    >>> -0.22 <= sideways("SP-0001") == sideways("SP-0001") <= 0.22
    True
    """
    number = int.from_bytes(hashlib.sha256(code.encode()).digest()[:4])
    return (2 * number / (2**32 - 1) - 1) * _HALF_WIDTH


def _dots(groups: Sequence[GroupValues]) -> list[_Dot]:
    return [
        _Dot(place, Value(code, value, group.label, mark), mode, void)
        for place, group in enumerate(groups)
        for value, code, mode, mark, void in zip(
            group.values, group.codes, group.modes, group.marks, group.voids, strict=True
        )
    ]


def _title(kept: Sequence[Value], *, limits: Sequence[Limit], unit: str, decimals: int) -> str:
    required = [limit for limit in limits if limit.kind == "requirement"]
    if required:
        return " ".join(finding(kept, limit=limit, unit=unit, decimals=decimals) for limit in required)
    low, high = _extremes(kept)
    ends = f"{value_text(low, decimals=decimals)} to {value_text(high, decimals=decimals)} {unit}"
    return f"{counted(len(kept), 'value')}: {ends}."


def _extremes(kept: Sequence[Value]) -> tuple[Value, Value]:
    def height(item: Value) -> tuple[object, int]:
        return exact(item.value), {"below": -1, "above": 1}.get(CENSORED.get(item.mark, ""), 0)

    return min(kept, key=height), max(kept, key=height)


def _subtitle(dots: Sequence[_Dot], groups: Sequence[GroupValues], limits: Sequence[Limit], *, quantity: str) -> str:
    voids = sum(dot.void for dot in dots)
    outside = any(outside_any(dot.item, limits=limits) for dot in dots if not dot.void)
    parts = (
        (True, f"{quantity} of each specimen, n = {len(dots) - voids}"),
        (voids > 0, f"{voids} not counted (void or set aside), drawn as ×"),
        (outside, "filled: outside a limit"),
        (any(group.mean is not None for group in groups), "horizontal tick: mean"),
        (any(_boxed(group) for group in groups), "box: middle half of the values"),
    )
    return "; ".join(text for wanted, text in parts if wanted) + "."


def _ticks(groups: Sequence[GroupValues]) -> tuple[tuple[float, str], ...]:
    room = max(_NARROWEST_LABEL, _LABEL_ROOM // len(groups))
    return tuple(
        (float(place), f"{textwrap.fill(group.label, room)}\nn = {group.voids.count(False)}")
        for place, group in enumerate(groups)
    )


def _y_axis(
    dots: Sequence[_Dot],
    groups: Sequence[GroupValues],
    limits: Sequence[Limit],
    *,
    label: str,
    decimals: int,
) -> Axis:
    heights = [float(dot.item.value) for dot in dots] + [float(limit.value) for limit in limits]
    heights += [float(group.bound.value) for group in groups if group.bound]
    low, high = min(heights), max(heights)
    margin = 0.08 * (high - low) or 0.1 * abs(high) or 1.0
    return Axis(label, decimals, low - margin, high + margin)


def _label(
    kept: Sequence[Value],
    groups: Sequence[GroupValues],
    limits: Sequence[Limit],
    *,
    unit: str,
    decimals: int,
    group_word: str,
) -> str:
    low, high = _extremes(kept)
    edges = [f"{limit.side} {limit.kind} {fixed(limit.value, decimals=decimals)}" for limit in limits]
    text = f"Dot plot, {counted(len(kept), 'value')} in {counted(len(groups), group_word)}"
    text += f" with {listed(edges)}" if edges else ""
    text += f", in {spoken(unit)}. Lowest {value_text(low, decimals=decimals)}"
    text += f", highest {value_text(high, decimals=decimals)}."
    ending = " Summary and data table follow."
    return cut(text, longest=LONGEST_LABEL - len(ending)) + ending


def _summary(
    dots: Sequence[_Dot],
    groups: Sequence[GroupValues],
    limits: Sequence[Limit],
    *,
    unit: str,
    decimals: int,
    group_word: str,
) -> tuple[str, ...]:
    kept = [dot.item for dot in dots if not dot.void]
    sizes = listed(f"{group.label}: {group.voids.count(False)}" for group in groups)
    low, high = _extremes(kept)
    sentences = [
        f"{counted(len(kept), 'value')} in {counted(len(groups), group_word)} ({sizes}).",
        f"Lowest: {_told(low, unit=unit, decimals=decimals)}.",
        f"Highest: {_told(high, unit=unit, decimals=decimals)}.",
    ]
    for limit in limits:
        sentences += beyond(kept, limit=limit, unit=unit, decimals=decimals)
    sentences += _asides(dots, decimals=decimals)
    sentences += [_bounded(group, unit=unit, decimals=decimals) for group in groups if group.bound]
    return tuple(sentences)


def _bounded(group: GroupValues, *, unit: str, decimals: int) -> str:
    bound = _printed(group.bound, decimals=decimals)
    return f"Tolerance bound of {group.label}: {bound} {unit}, {group.bound.text}."


def _printed(bound: Bound, *, decimals: int) -> str:
    return bound.printed or fixed(bound.value, decimals=decimals)


def _told(item: Value, *, unit: str, decimals: int) -> str:
    words = value_text(item, decimals=decimals)
    size = words if item.mark == "opened-before-test" else f"{words} {unit}"
    return f"{size} ({item.code}, {item.group})"


def _asides(dots: Sequence[_Dot], *, decimals: int) -> list[str]:
    marked = [dot.item for dot in dots if dot.item.mark in CENSORED and not dot.void]
    void = [dot.item for dot in dots if dot.void]
    asides = []
    if marked:
        asides.append(f"Known only as beyond what was measured: {_all(marked, decimals=decimals)}.")
    if void:
        asides.append(f"Not counted (void or set aside): {_all(void, decimals=decimals)}.")
    return asides


def _all(items: Iterable[Value], *, decimals: int) -> str:
    return ", ".join(f"{item.code} {value_text(item, decimals=decimals)}" for item in items)


def _table(dots: Sequence[_Dot], *, quantity: str, unit: str, decimals: int, group_word: str) -> Table:
    columns = ("Specimen", group_word.capitalize(), f"{quantity}, {unit}", "Failure mode", "State")
    rows = tuple(
        (dot.item.code, dot.item.group, value_text(dot.item, decimals=decimals), dot.mode, _state(dot)) for dot in dots
    )
    return Table(f"{quantity} of every specimen", columns, rows, tuple(dot.item.code for dot in dots))


def _state(dot: _Dot) -> str:
    return "not counted" if dot.void else dot.item.mark.replace("-", " ") or "counted"


def _points(dots: Sequence[_Dot], limits: Sequence[Limit], *, unit: str, decimals: int) -> tuple[Points, ...]:
    shapes: dict[tuple[str, str, bool, str], list[_Dot]] = {}
    for dot in dots:
        shapes.setdefault(_shape(dot, limits), []).append(dot)
    series = [_series(shape, members, unit=unit, decimals=decimals) for shape, members in sorted(shapes.items())]
    return _keyed_once(series)


def _series(shape: tuple[str, str, bool, str], members: Sequence[_Dot], *, unit: str, decimals: int) -> Points:
    name, symbol, filled, colour = shape
    return Points(
        name=name,
        x=tuple(dot.place + sideways(dot.item.code) for dot in members),
        y=tuple(float(dot.item.value) for dot in members),
        codes=tuple(dot.item.code for dot in members),
        hover=tuple(_hover(dot, unit=unit, decimals=decimals) for dot in members),
        symbol=symbol,
        colour=colour,
        filled=filled,
    )


def _keyed_once(series: Sequence[Points]) -> tuple[Points, ...]:
    """Let each shape stand in the key once: that a filled marker is outside a limit, the subtitle says."""
    seen: set[str] = set()
    keyed = []
    for points in series:
        keyed.append(replace(points, key=points.name not in seen))
        seen.add(points.name)
    return tuple(keyed)


def _shape(dot: _Dot, limits: Sequence[Limit]) -> tuple[str, str, bool, str]:
    if dot.void:
        return "not counted", "cross", False, "ink-3"
    outside = outside_any(dot.item, limits=limits)
    colour = "stop" if outside else "series-1"
    if dot.item.mark in CENSORED:
        side = CENSORED[dot.item.mark]
        return f"{side} what was measured", _MARK_SYMBOLS[side], outside, colour
    mode = dot.mode if dot.mode in _MODE_WORDS else "MX"
    return _MODE_WORDS[mode], _MODE_SYMBOLS.get(mode, "triangle"), outside, colour


def _hover(dot: _Dot, *, unit: str, decimals: int) -> str:
    told = _told(dot.item, unit=unit, decimals=decimals)
    return "; ".join(part for part in (told, dot.mode, "not counted" if dot.void else "") if part)


def _counted_values(group: GroupValues) -> list[float]:
    return [float(value) for value, void in zip(group.values, group.voids, strict=True) if not void]


def _boxed(group: GroupValues) -> bool:
    return len(_counted_values(group)) >= _BOX_FROM and not any(mark in CENSORED for mark in group.marks)


def _boxes(groups: Sequence[GroupValues]) -> tuple[Line, ...]:
    x: list[float | None] = []
    y: list[float | None] = []
    for place, group in enumerate(groups):
        if _boxed(group):
            found = summarise(_counted_values(group))
            low, high = found.q1, found.q3
            x += [place - 0.3, place + 0.3, place + 0.3, place - 0.3, place - 0.3, None]
            y += [low, low, high, high, low, None]
    return (Line("middle half", tuple(x), tuple(y), "edge", dash="dot", width_pt=0.8),) if x else ()


def _means(groups: Sequence[GroupValues]) -> tuple[Line, ...]:
    x: list[float | None] = []
    y: list[float | None] = []
    for place, group in enumerate(groups):
        if group.mean is not None:
            x += [place - 0.12, place + 0.12, None]
            y += [float(group.mean), float(group.mean), None]
    return (Line("mean", tuple(x), tuple(y), "ink", width_pt=2.0),) if x else ()


def _brackets(groups: Sequence[GroupValues], *, decimals: int) -> tuple[Bracket, ...]:
    return tuple(
        Bracket(place + 0.42, float(group.bound.value), _printed(group.bound, decimals=decimals))
        for place, group in enumerate(groups)
        if group.bound
    )
