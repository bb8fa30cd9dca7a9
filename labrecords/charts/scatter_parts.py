"""From where scatter comes: the standard deviation of each source with its interval, in the unit of the values.

Dots and not stacked bars: standard deviations do not add.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from .figure import Axis, Figure, Line, Points, Table
from .words import counted, cut, fixed, spoken


@dataclass(frozen=True)
class Source:
    """One source of scatter: its standard deviation, the ends of its interval, and its share of the variance."""

    name: str
    sd: float
    low: float | None
    high: float | None
    percent: float


def scatter_parts(sources: Sequence[Source], *, unit: str, decimals: int, confidence: float, total: str) -> Figure:
    """Draw the sources from the top down. `total` names the row that holds all others, which no title speaks of.

    Raises ValueError when there is none.
    """
    if not sources:
        raise ValueError("There is no source of scatter to draw: leave this figure out.")
    most = max(end for row in sources for end in (row.sd, row.high or 0.0)) or 1.0
    said = _title([row for row in sources if row.name != total])
    return Figure(
        id="scatter-parts",
        title=said,
        subtitle=f"Standard deviation of each source with its {confidence * 100:g} % interval; zero is set to 0.",
        x=Axis(f"Standard deviation, {unit}", decimals, 0.0, 1.1 * most),
        y=Axis("", 0, 0.5, len(sources) + 0.5, tuple((_at(row, sources), row.name) for row in sources)),
        label=cut(f"{counted(len(sources), 'source')} of scatter in {spoken(unit)}. {said}", longest=240),
        summary=tuple(_sentence(row, unit, decimals) for row in sources),
        table=_table(sources, unit, decimals),
        points=(_points(sources, unit, decimals),),
        lines=tuple(_interval(row, sources) for row in sources if row.low is not None and row.high is not None),
    )


def _at(row: Source, sources: Sequence[Source]) -> float:
    return float(len(sources) - list(sources).index(row))


def _title(parts: Sequence[Source]) -> str:
    largest = max(parts, key=lambda row: row.percent)
    return f"Most scatter comes from: {largest.name.lower()} ({fixed(largest.percent, decimals=0)} % of the variance)."


def _sentence(row: Source, unit: str, decimals: int) -> str:
    ends = (
        f", from {fixed(row.low, decimals=decimals)} to {fixed(row.high, decimals=decimals)}"
        if row.low is not None and row.high is not None
        else ""
    )
    share = fixed(row.percent, decimals=1)
    return f"{row.name}: {fixed(row.sd, decimals=decimals)} {unit}{ends}; {share} % of the variance."


def _points(sources: Sequence[Source], unit: str, decimals: int) -> Points:
    return Points(
        name="standard deviation",
        x=tuple(row.sd for row in sources),
        y=tuple(_at(row, sources) for row in sources),
        codes=tuple(row.name for row in sources),
        hover=tuple(_sentence(row, unit, decimals) for row in sources),
        symbol="circle",
        colour="series-1",
        filled=True,
        key=False,
    )


def _interval(row: Source, sources: Sequence[Source]) -> Line:
    place = _at(row, sources)
    return Line(f"interval of {row.name}", (row.low, row.high), (place, place), "series-1", width_pt=1.5, key=False)


def _table(sources: Sequence[Source], unit: str, decimals: int) -> Table:
    def text(value: float | None) -> str:
        return "not known" if value is None else fixed(value, decimals=decimals)

    rows = tuple(
        (row.name, text(row.sd), text(row.low), text(row.high), fixed(row.percent, decimals=1)) for row in sources
    )
    columns = ("Source", f"Standard deviation, {unit}", "From", "To", "% of the variance")
    return Table("Sources of scatter", columns, rows, tuple(row.name for row in sources))
