"""Consistency of people as ASTM E691 has it: bars of h or k from zero, and the level that chance seldom passes."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from .figure import Axis, Figure, LimitLine, Line, Points, Table
from .words import counted, cut, fixed

PEOPLE, MATERIALS = "person", "material"
_SYMBOLS = ("circle", "square", "diamond", "pentagon", "hexagon", "star")
_COLOURS = ("series-1", "series-2", "series-3", "series-4")
_WHAT = {
    "h": "each person's mean less the mean of all, over the standard deviation of the means",
    "k": "each person's standard deviation over that of everybody's strips",
}


@dataclass(frozen=True)
class Bar:
    """One person's h or k for one material, and whether it is beyond the level."""

    person: str
    material: str
    value: float
    beyond: bool


def consistency(bars: Sequence[Bar], *, kind: str, critical: float, by: str = PEOPLE) -> Figure:
    """Draw h or k, grouped by person or by material: the two orders show different faults.

    `kind` is "h", which may lie on either side of zero, or "k". Raises ValueError when there is no bar.
    """
    if not bars:
        raise ValueError(f"There is no {kind} to draw: leave this figure out.")
    groups, others = _names(bars, by), _names(bars, MATERIALS if by == PEOPLE else PEOPLE)
    most = 1.15 * max(critical, *(abs(bar.value) for bar in bars))
    levels = (critical, -critical) if kind == "h" else (critical,)
    said = _title(bars, kind)
    return Figure(
        id=f"{kind}-by-{by}",
        title=said,
        subtitle=f"{kind}: {_WHAT[kind]}, by {by}.",
        x=Axis(by.capitalize(), 0, 0.5, len(groups) + 0.5, tuple(enumerate(groups, start=1))),
        y=Axis(kind, 1, -most if kind == "h" else 0.0, most),
        label=cut(f"{kind} of {counted(len(bars), 'mean')}, grouped by {by}. {said}", longest=240),
        summary=tuple(_sentence(bar, kind) for bar in bars),
        table=_table(bars, kind),
        points=tuple(series for other in others for series in _tips(bars, other, groups, others, by, kind)),
        lines=tuple(_bar(bar, groups, others, by) for bar in bars),
        limits=tuple(LimitLine(level, f"{_signed(level)}, 0.5 %", "dash") for level in levels),
    )


def _names(bars: Sequence[Bar], part: str) -> list[str]:
    return list(dict.fromkeys(getattr(bar, part) for bar in bars))


def _signed(value: float) -> str:
    text = fixed(abs(value), decimals=2)
    return f"−{text}" if value < 0 else text


def _title(bars: Sequence[Bar], kind: str) -> str:
    apart = [f"{bar.person} ({bar.material})" for bar in bars if bar.beyond]
    if not apart:
        return f"Nobody's {kind} is beyond what chance seldom gives."
    what = "reads apart from the others" if kind == "h" else "scatters more than the others"
    return f"{', '.join(apart)} {what}."


def _sentence(bar: Bar, kind: str) -> str:
    return f"{bar.person}, {bar.material}: {kind} {_signed(bar.value)}{', beyond the level' if bar.beyond else ''}."


def _at(bar: Bar, groups: list[str], others: list[str], by: str) -> float:
    """Where a bar stands: at its group, the others side by side."""
    group, other = (bar.person, bar.material) if by == PEOPLE else (bar.material, bar.person)
    step = 0.7 / max(len(others), 2)
    return groups.index(group) + 1 + step * (others.index(other) - (len(others) - 1) / 2)


def _look(name: str, others: list[str]) -> tuple[str, str]:
    place = others.index(name)
    return _SYMBOLS[place % len(_SYMBOLS)], _COLOURS[place % len(_COLOURS)]


def _tips(bars, other: str, groups: list[str], others: list[str], by: str, kind: str) -> Iterator[Points]:
    """A marker at the end of each bar of one colour: open within the level, filled beyond it."""
    of_one = [bar for bar in bars if other == (bar.material if by == PEOPLE else bar.person)]
    for beyond, name in ((False, other), (True, f"{other}, beyond the level")):
        own = [bar for bar in of_one if bar.beyond is beyond]
        if own:
            yield _markers(own, name, other, groups, others, by, kind)


def _markers(own, name: str, other: str, groups: list[str], others: list[str], by: str, kind: str) -> Points:
    symbol, colour = _look(other, others)
    return Points(
        name=name,
        x=tuple(_at(bar, groups, others, by) for bar in own),
        y=tuple(bar.value for bar in own),
        codes=tuple(f"{bar.person}, {bar.material}" for bar in own),
        hover=tuple(_sentence(bar, kind) for bar in own),
        symbol=symbol,
        colour=colour,
        filled=own[0].beyond,
    )


def _bar(bar: Bar, groups: list[str], others: list[str], by: str) -> Line:
    place = _at(bar, groups, others, by)
    _, colour = _look(bar.material if by == PEOPLE else bar.person, others)
    return Line(f"bar of {bar.person}", (place, place), (0.0, bar.value), colour, width_pt=3, key=False)


def _table(bars: Sequence[Bar], kind: str) -> Table:
    rows = tuple((bar.person, bar.material, _signed(bar.value), "yes" if bar.beyond else "no") for bar in bars)
    columns = ("Person", "Material", kind, "Beyond the level")
    return Table(f"{kind} of everybody", columns, rows, tuple(f"{bar.person}, {bar.material}" for bar in bars))
