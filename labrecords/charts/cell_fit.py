"""Relative uncertainty against force, a line for each load cell, with the range of forces expected."""

from collections.abc import Sequence
from dataclasses import dataclass

from .figure import Axis, Figure, Line, Span, Table
from .words import cut, fixed

COLOURS = ("series-1", "series-2", "series-3", "series-4", "series-5")
DASHES = ("solid", "dash", "dot", "dashdot")
HIGHEST = 10.0  # per cent; a cell worse than this is off the figure, and said to be


@dataclass(frozen=True)
class CellLine:
    """One cell: its name, forces in newtons with uncertainties in per cent, and the uncertainty at the weak end."""

    name: str
    forces_n: tuple[float, ...]
    percents: tuple[float, ...]
    at_weak_percent: float


def cell_fit(cells: Sequence[CellLine], *, weak_n: float, strong_n: float, figure_id: str = "cell-fit") -> Figure:
    """Draw the cells, the best fit first. Raises ValueError when there is none."""
    if not cells:
        raise ValueError("There is no load cell of which an uncertainty is known.")
    best = cells[0]
    said = f"{best.name} fits best: {fixed(best.at_weak_percent, decimals=2)} % at {weak_n:g} N"
    top = min(HIGHEST, 1.1 * max(max(cell.percents) for cell in cells))
    low, high = min(cells[0].forces_n), max(cells[0].forces_n)
    rows = tuple((cell.name, fixed(cell.at_weak_percent, decimals=2)) for cell in cells)
    return Figure(
        id=figure_id,
        title=f"{said}.",
        subtitle="Expanded uncertainty of the equipment alone, from calibration, noise and resolution, about 95 %.",
        x=Axis("Force, N", 1, low, high),
        y=Axis("Relative uncertainty, %", 1, 0.0, top),
        label=cut(f"Lines of relative uncertainty against force for {len(cells)} load cells. {said}.", longest=240),
        summary=tuple(
            f"{cell.name}: {fixed(cell.at_weak_percent, decimals=2)} % at the weak end of {weak_n:g} N."
            for cell in cells
        ),
        table=Table(
            f"Uncertainty at {weak_n:g} N", ("Load cell", "Uncertainty, %"), rows, tuple(cell.name for cell in cells)
        ),
        lines=tuple(_line(cell, place, top) for place, cell in enumerate(cells)),
        spans=(Span(weak_n, strong_n, "weakest expected", "strongest expected"),),
    )


def _line(cell: CellLine, place: int, top: float) -> Line:
    y = tuple(percent if percent <= top else None for percent in cell.percents)
    x = tuple(force if percent is not None else None for force, percent in zip(cell.forces_n, y, strict=True))
    colour, dash = COLOURS[place % len(COLOURS)], DASHES[place % len(DASHES)]
    return Line(cell.name, x, y, colour, dash=dash, width_pt=1.5)
