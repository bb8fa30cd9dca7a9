"""One description of a figure, drawn alike on the page and on paper."""

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass

SYMBOLS = (
    "circle",
    "square",
    "diamond",
    "pentagon",
    "hexagon",
    "star",
    "plus",
    "cross",
    "triangle",
    "arrow-down",
    "arrow-up",
)
DASHES = ("solid", "dash", "dot", "dashdot")
LONGEST_LABEL = 250
LABEL_GAP = 0.07  # share of the axis that one line of text at the right edge takes up


@dataclass(frozen=True)
class Axis:
    """One axis: its label with the unit, the decimals of its ticks, its ends, and named ticks if any."""

    label: str
    decimals: int
    low: float
    high: float
    ticks: tuple[tuple[float, str], ...] = ()

    @property
    def length(self) -> float:
        """Distance between the two ends, in the unit of the axis."""
        return self.high - self.low


@dataclass(frozen=True)
class Points:
    """Markers of one shape. `codes` name the specimens; `key` is the text in the key, if any."""

    name: str
    x: tuple[float, ...]
    y: tuple[float, ...]
    codes: tuple[str, ...]
    hover: tuple[str, ...]
    symbol: str
    colour: str
    filled: bool = False
    key: bool = True


@dataclass(frozen=True)
class Line:
    """A line; None in `y` lifts the pen, so that many traces can share one series."""

    name: str
    x: tuple[float | None, ...]
    y: tuple[float | None, ...]
    colour: str
    dash: str = "solid"
    width_pt: float = 1.0
    strength: float = 1.0
    key: bool = True
    end_label: str = ""


@dataclass(frozen=True)
class Span:
    """A light vertical band between two places on the x axis, its edges labelled."""

    low: float
    high: float
    low_label: str
    high_label: str


@dataclass(frozen=True)
class LimitLine:
    """A straight line across the figure at `value` of the axis named, labelled at its end."""

    value: float
    label: str
    dash: str
    axis: str = "y"


@dataclass(frozen=True)
class Bracket:
    """A tolerance bound beside its group: a statement about the population, never drawn as a point."""

    x: float
    value: float
    label: str


@dataclass(frozen=True)
class Table:
    """The numbers behind a figure, as texts; `row_ids` name the points that the rows belong to."""

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    row_ids: tuple[str, ...]

    def __post_init__(self) -> None:
        """Refuse a table whose rows do not fit its columns."""
        if len(self.row_ids) != len(self.rows):
            raise ValueError(f"The table has {len(self.rows)} rows and {len(self.row_ids)} row ids.")
        if any(len(row) != len(self.columns) for row in self.rows):
            raise ValueError(f"Every row of the table needs {len(self.columns)} cells, one for each column.")


@dataclass(frozen=True)
class Figure:
    """Everything a renderer needs, and the words that say the same to those who do not see it.

    `title` is the finding in a sentence, `label` the short text for screen readers with its units
    spelt out, `summary` sentences made from the same numbers as the marks. `aspect` is height over width.
    """

    id: str
    title: str
    subtitle: str
    x: Axis
    y: Axis
    label: str
    summary: tuple[str, ...]
    table: Table
    points: tuple[Points, ...] = ()
    lines: tuple[Line, ...] = ()
    spans: tuple[Span, ...] = ()
    limits: tuple[LimitLine, ...] = ()
    brackets: tuple[Bracket, ...] = ()
    aspect: float = 0.55

    def __post_init__(self) -> None:
        """Refuse a figure that could not be drawn, named or read aloud."""
        _check_words(self)
        _check_series(self)
        _check_numbers(self)


def _check_words(figure: Figure) -> None:
    if not re.fullmatch(r"[a-z][a-z0-9-]*", figure.id):
        raise ValueError(f"Figure id {figure.id!r} must be lower-case letters, digits and hyphens.")
    for name in ("title", "label", "summary"):
        if not getattr(figure, name):
            raise ValueError(f"Figure {figure.id} needs a {name}: without it some readers get nothing.")
    if len(figure.label) > LONGEST_LABEL:
        raise ValueError(f"The label of figure {figure.id} must be at most {LONGEST_LABEL} characters.")


def _check_series(figure: Figure) -> None:
    for points in figure.points:
        if points.symbol not in SYMBOLS:
            raise ValueError(f"Symbol {points.symbol!r} is not one of {', '.join(SYMBOLS)}.")
        if len({len(points.x), len(points.y), len(points.codes), len(points.hover)}) != 1:
            raise ValueError(f"Series {points.name!r} needs as many x as y, codes and hover texts.")
    for line in figure.lines:
        if len(line.x) != len(line.y):
            raise ValueError(f"Line {line.name!r} needs as many x as y.")
    for dashed in (*figure.lines, *figure.limits):
        if dashed.dash not in DASHES:
            raise ValueError(f"Dash {dashed.dash!r} is not one of {', '.join(DASHES)}.")


def _check_numbers(figure: Figure) -> None:
    if not (figure.x.low < figure.x.high and figure.y.low < figure.y.high):
        raise ValueError(f"The axes of figure {figure.id} need a low end below their high end.")
    if not all(math.isfinite(number) for number in _numbers(figure)):
        raise ValueError(f"Figure {figure.id} holds a number that is not finite: leave it out and say so.")


def _numbers(figure: Figure) -> Iterable[float]:
    yield from (figure.x.low, figure.x.high, figure.y.low, figure.y.high)
    for series in (*figure.points, *figure.lines):
        yield from (number for number in (*series.x, *series.y) if number is not None)
    yield from (mark.value for mark in (*figure.limits, *figure.brackets))


def bracket_path(bracket: Bracket, *, axis: Axis) -> tuple[tuple[float, ...], tuple[float | None, ...]]:
    """Give the corners of the sign ⊣ at the bound, in axis units; None lifts the pen."""
    half = 0.03 * axis.length
    x = (bracket.x - 0.16, bracket.x, bracket.x, bracket.x, bracket.x)
    y = (bracket.value, bracket.value, None, bracket.value - half, bracket.value + half)
    return x, y


def spread(places: tuple[float, ...], *, gap: float) -> tuple[float, ...]:
    """Push labels apart along an axis until neighbours are `gap` from one another; order is kept.

    >>> spread((5.0, 5.1, 9.0), gap=1.0)
    (4.55, 5.55, 9.0)
    """
    order = sorted(range(len(places)), key=lambda index: places[index])
    blocks: list[list[int]] = []
    for index in order:
        blocks.append([index])
        while len(blocks) > 1 and _clash(blocks[-2], blocks[-1], places=places, gap=gap):
            last = blocks.pop()
            blocks[-1] += last
    moved = dict(enumerate(places))
    for block in blocks:
        moved |= dict(zip(block, _laid_out(block, places=places, gap=gap), strict=True))
    return tuple(moved[index] for index in range(len(places)))


def _laid_out(block: list[int], *, places: tuple[float, ...], gap: float) -> list[float]:
    centre = sum(places[index] for index in block) / len(block)
    start = centre - gap * (len(block) - 1) / 2
    return [start + gap * step for step in range(len(block))]


def _clash(one: list[int], other: list[int], *, places: tuple[float, ...], gap: float) -> bool:
    top = _laid_out(one, places=places, gap=gap)[-1]
    bottom = _laid_out(other, places=places, gap=gap)[0]
    return bottom - top < gap
