"""The numbers of one table, read by pandas in one go; a cell that is no number is found and named."""

import csv
import io
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from .blocks import not_a_number
from .cells import BLANKS, MISSING, Grid
from .layout import Layout
from .problems import FileProblem

if TYPE_CHECKING:
    import pandas as pd

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Table:
    """Columns of numbers by their place; NaN only where a cell is empty."""

    columns: dict[int, Floats]
    texts: Sequence[str]
    rows: Sequence[int]
    grid: Grid

    def line(self, row: int) -> int:
        """Line of a row in the file, 1-based."""
        return self.rows[row] + 1

    def cell(self, row: int, place: int) -> str:
        """What stands in the file at a row and a column."""
        return self.grid.split(self.texts[row])[place]

    def rows_of(self, places: Sequence[int], own: Collection[int]) -> int:
        """Rows of the specimen with these columns; its own may end before the table does. Refuses a gap."""
        filled = np.logical_or.reduce([~np.isnan(self.columns[place]) for place in own])
        rows = int(np.flatnonzero(filled)[-1]) + 1 if filled.any() else 0
        self.refuse_gaps(places, rows)
        return rows

    def refuse_gaps(self, places: Sequence[int], rows: int) -> None:
        """Refuse an empty cell in the first rows of these columns."""
        gaps = np.argwhere(np.isnan(np.column_stack([self.columns[place][:rows] for place in places])))
        if gaps.size:
            line, place = self.line(int(gaps[0][0])), places[int(gaps[0][1])]
            raise FileProblem(
                "ragged",
                f"Line {line}, column {place + 1}: a number is missing. Export the file again, complete.",
                line,
            )


def read_table(lines: Sequence[str], rows: Sequence[int], layout: Layout) -> Table:
    """Numbers of the columns the layout uses. Raises FileProblem for a cell that is no finite number."""
    texts = [lines[row] for row in rows]
    _refuse_open_quotes(texts, rows, layout.grid)
    counts = _counts(texts, layout.grid)
    _refuse_extra_cells(texts, rows, counts, layout)
    needed = sorted({place for series in layout.series for place in series.places})
    frame = _frame(texts, rows, max(counts), layout.grid, needed)
    table = Table({}, texts, rows, layout.grid)
    for place in needed:
        column = frame[place]
        plain = column.dtype.kind in "iuf"
        table.columns[place] = column.to_numpy(np.float64) if plain else _by_cell(table, place)
        _refuse_infinite(table, place)
    return table


def _frame(texts: Sequence[str], rows: Sequence[int], width: int, grid: Grid, needed: Sequence[int]) -> "pd.DataFrame":
    import pandas as pd

    if width <= needed[-1]:
        raise FileProblem(
            "ragged",
            f"The rows from line {rows[0] + 1} on have no column {needed[-1] + 1}. Look at the preview.",
            rows[0] + 1,
        )
    blanks = grid.delimiter == BLANKS
    return pd.read_csv(
        io.StringIO("\n".join(texts)),
        sep=r"\s+" if blanks else grid.delimiter,
        decimal=grid.decimal,
        header=None,
        names=range(width),
        usecols=needed,
        index_col=False,
        quoting=csv.QUOTE_NONE if blanks else csv.QUOTE_MINIMAL,
        keep_default_na=False,
        na_values=[""],
        low_memory=False,
    )


def _counts(texts: Sequence[str], grid: Grid) -> list[int]:
    """Cells of every line, quickly."""
    if grid.delimiter == BLANKS:
        return [len(text.split()) for text in texts]
    if any('"' in text for text in texts):
        return [len(grid.split(text)) for text in texts]
    return [text.count(grid.delimiter) + 1 for text in texts]


def _by_cell(table: Table, place: int) -> Floats:
    """A column that pandas did not take for numbers: the first cell that is none is the problem."""
    return np.array([_value(table, row, place) for row in range(len(table.texts))], dtype=np.float64)


def _value(table: Table, row: int, place: int) -> float:
    cells = table.grid.split(table.texts[row])
    cell = cells[place] if place < len(cells) else ""
    if not cell:
        return np.nan
    if cell.casefold() in MISSING:
        raise _not_finite(cell, table.line(row), place)
    if not table.grid.is_number(cell):
        raise not_a_number(cell, table.line(row), f"column {place + 1}", table.grid)
    return float(cell.replace(table.grid.decimal, "."))


def _refuse_infinite(table: Table, place: int) -> None:
    bad = np.flatnonzero(np.isinf(table.columns[place]))
    if bad.size:
        row = int(bad[0])
        raise _not_finite(table.cell(row, place), table.line(row), place)


def _not_finite(cell: str, line: int, place: int) -> FileProblem:
    return FileProblem(
        "not-finite",
        f"Line {line}, column {place + 1}: “{cell[:30]}” is not a finite number, so a reading is missing. "
        "Find out at the tester why, and export the file again.",
        line,
    )


def _refuse_extra_cells(texts: Sequence[str], rows: Sequence[int], counts: Sequence[int], layout: Layout) -> None:
    grid, width = layout.grid, layout.width
    for place in (place for place, count in enumerate(counts) if count > width):
        if any(grid.split(texts[place])[width:]):
            raise FileProblem(
                "ragged",
                f"Line {rows[place] + 1} has more cells than the {width} columns of the table. "
                "Look for a comma inside a number, and export the file again.",
                rows[place] + 1,
            )


def _refuse_open_quotes(texts: Sequence[str], rows: Sequence[int], grid: Grid) -> None:
    """A quotation mark that is not closed would swallow the rows after it."""
    if grid.delimiter == BLANKS:
        return
    for text, row in zip(texts, rows, strict=True):
        if text.count('"') % 2:
            raise FileProblem(
                "not-a-number",
                f"Line {row + 1} has a quotation mark that is not closed. Export again.",
                row + 1,
            )
