"""Finding out how a trace file is to be read, for a person to confirm."""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from . import blocks, columns
from .cells import Grid, candidates
from .decoding import CAP, Text, decode
from .headings import Heading
from .layout import Layout
from .problems import FileProblem
from .statements import all_rates, statements

WIDEST = 400  # columns
_SAMPLE = 300  # lines looked at to tell the separator
_PREVIEW = 10
_AMBIGUOUS = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}")


@dataclass(frozen=True)
class Sniffed:
    """What was found in a file.

    layout : how it would be read; preview : cells of the first rows; columns : headings, one per column,
    empty if there are none; specimens : how many traces it seems to hold; uncertain : sentences on what a
    person must confirm; stated : facts from the header lines, such as rate, technique, width, specimen, date.
    """

    layout: Layout
    preview: tuple[tuple[str, ...], ...]
    columns: tuple[Heading, ...]
    specimens: int
    uncertain: tuple[str, ...]
    stated: dict[str, str]


def sniff(data: bytes, *, remembered: Layout | None = None, cap: int = CAP) -> Sniffed:
    """Layout of a trace file, with what is uncertain about it.

    A remembered layout (of the same tester) is taken over with the columns and units a person chose, if the
    file's separators and headings are the same; then only the lines at which things stand are found anew.

    Raises FileProblem if the file is not text or holds no rows of numbers.
    """
    text = decode(data, cap=cap)
    grid = _grid(text.lines)
    found = blocks.runs(text.lines, grid)
    start = blocks.first_row(text.lines, grid, found)
    width = _width(text.lines, grid, start, found)
    heads = blocks.heads(text.lines, grid, range(start), width)
    blocks.refuse_rows_in_header(text.lines, grid, heads, start)
    rows = _rows(text.lines, grid, start)
    _refuse_comma_for_both(text.lines, grid, heads, rows, start)
    choice = columns.choose(heads.columns) if heads.columns else columns.guess(_numbers(rows, grid))
    stated = statements(text.lines[: start if heads.names_line is None else heads.names_line])
    layout = _layout(text, grid, start, width, heads, choice, stated)
    doubts = (*_decimal_notes(rows, grid), *choice.notes)
    if remembered is not None and fits(remembered, layout):
        layout, doubts = _as_remembered(remembered, layout, stated), ()
    tables = _tables(text.lines, grid, found, layout)
    if len(tables) > 1 and layout.arrangement == "single":
        layout = replace(layout, arrangement="blocks")
    notes = (*_notes(text, layout, tables), *doubts)
    specimens = max(1, len(layout.series)) * len(tables)
    return Sniffed(layout, tuple(map(tuple, rows[:_PREVIEW])), heads.columns, specimens, notes, stated)


def fits(remembered: Layout, found: Layout) -> bool:
    """Whether a file has the separators and headings for which a layout was remembered."""
    return (remembered.delimiter, remembered.decimal, remembered.width, remembered.marks) == (
        found.delimiter,
        found.decimal,
        found.width,
        found.marks,
    )


def _as_remembered(remembered: Layout, found: Layout, stated: dict[str, str]) -> Layout:
    return replace(
        remembered,
        encoding=found.encoding,
        names_line=found.names_line,
        units_line=found.units_line,
        first_data_line=found.first_data_line,
        arrangement="columns" if len(remembered.series) > 1 else "single",
        rate=stated.get("rate", remembered.rate) if remembered.rate else None,
    )


def _grid(lines: Sequence[str]) -> Grid:
    """The separator and decimal sign under which most cells are numbers; the first of equals."""
    middle = len(lines) // 2
    sample = [*lines[:_SAMPLE], *lines[max(_SAMPLE, middle) : max(_SAMPLE, middle) + _SAMPLE]]
    return max(candidates(), key=lambda grid: sum(_share(line, grid) for line in sample))


def _share(line: str, grid: Grid) -> float:
    cells = [cell for cell in grid.split(line) if cell]
    numbers = sum(1.0 if grid.is_number(cell) else 0.5 * grid.is_grouped(cell) for cell in cells)
    return (numbers / len(cells)) ** 2 if numbers > 1 else 0.0


def _width(lines: Sequence[str], grid: Grid, start: int, found: Sequence[blocks.Run]) -> int:
    """Columns of the table: as many as most of its first rows have, an empty last one not counted."""
    run = next(run for run in found if run.stop > start and run.kind == "data")
    counts = Counter(_cells_used(grid.split(line)) for line in lines[run.start : run.stop][:_PREVIEW])
    width = max(counts, key=lambda count: (counts[count], count))
    if width > WIDEST:
        raise FileProblem(
            "too-wide",
            f"Line {start + 1} has {width} columns; a file of traces has at most {WIDEST}. "
            "Export fewer specimens into one file.",
            start + 1,
        )
    return width


def _cells_used(cells: Sequence[str]) -> int:
    return len(cells) - 1 if cells and not cells[-1] else len(cells)


def _refuse_comma_for_both(
    lines: Sequence[str], grid: Grid, heads: blocks.Heads, rows: Sequence[Sequence[str]], start: int
) -> None:
    """More cells than headings: 0,1,2,5 under two headings is 0.1 and 2.5."""
    if grid != Grid(",", ".") or heads.names_line is None:
        return
    names = len(grid.split(lines[heads.names_line]))
    wide = next((place for place, row in enumerate(rows) if _cells_used(row) > names and _is_whole(row)), None)
    if wide is not None:
        line = start + wide + 1
        raise FileProblem(
            "ambiguous-decimal",
            f"Line {line} has {len(rows[wide])} numbers under {names} headings, as if commas part both the "
            "columns and the decimals. Export the file with semicolons or tabs between the columns.",
            line,
        )


def _is_whole(row: Sequence[str]) -> bool:
    return all(cell.lstrip("+-").isdigit() for cell in row)


def _rows(lines: Sequence[str], grid: Grid, start: int) -> list[list[str]]:
    return [[cell[:40] for cell in grid.split(line)] for line in lines[start : start + _SAMPLE]]


def _numbers(rows: Sequence[Sequence[str]], grid: Grid) -> list[list[float]]:
    """The rows in which every cell is a number."""
    plain = [row for row in rows if row and all(grid.is_number(cell) for cell in row)]
    return [[float(cell.replace(grid.decimal, ".")) for cell in row] for row in plain]


def _layout(
    text: Text,
    grid: Grid,
    start: int,
    width: int,
    heads: blocks.Heads,
    choice: columns.Choice,
    stated: dict[str, str],
) -> Layout:
    by_time = bool(choice.series) and choice.series[0].displacement is None
    return Layout(
        encoding=text.encoding,
        delimiter=grid.delimiter,
        decimal=grid.decimal,
        names_line=_from_1(heads.names_line),
        units_line=_from_1(heads.units_line),
        first_data_line=start + 1,
        arrangement="columns" if len(choice.series) > 1 else "single",
        series=choice.series,
        force_unit=choice.units["force"],
        displacement_unit=choice.units["displacement"],
        time_unit=choice.units["time"],
        width=width,
        rate=stated.get("rate") if by_time else None,
        marks=tuple(column.mark for column in heads.columns),
    )


def _from_1(line: int | None) -> int | None:
    return None if line is None else line + 1


def _tables(lines: Sequence[str], grid: Grid, found: Sequence[blocks.Run], layout: Layout) -> list[blocks.Block]:
    return blocks.tables(lines, grid, found, start=layout.first_data_line - 1, x=x_column(layout))


def x_column(layout: Layout) -> int:
    """The column whose numbers grow along a trace."""
    if not layout.series:
        return 0
    first = layout.series[0]
    return next(place for place in (first.displacement, first.time, 0) if place is not None)


def _notes(text: Text, layout: Layout, tables: Sequence[blocks.Block]) -> list[str]:
    notes = []
    if text.encoding == "cp1252":
        notes.append(
            "The file is not UTF-8. It is read in Windows' western encoding: check that names with accents are right."
        )
    rates = all_rates(text.lines[: layout.first_data_line - 1])
    if len(rates) > 1:
        notes.append(f"The file states more than one rate: {', '.join(rates)}. The first is taken.")
    if layout.series and layout.series[0].displacement is None:
        notes.append(_rate_note(layout.rate))
    if len(tables) > 1:
        notes.append(f"The file holds {len(tables)} tables one below the other; each is one specimen. Confirm.")
    return notes


def _decimal_notes(rows: Sequence[Sequence[str]], grid: Grid) -> list[str]:
    commas = [cell for row in rows for cell in row if "," in cell and grid.is_number(cell)]
    if grid.decimal == "," and commas and all(_AMBIGUOUS.fullmatch(cell) for cell in commas):
        plain = commas[0].replace(",", "")
        pointed = commas[0].replace(",", ".")
        return [f"Check: is “{commas[0]}” {pointed} or {plain}? It is read with a decimal comma."]
    return []


def _rate_note(rate: str | None) -> str:
    if rate:
        return f"There is no displacement column: displacement is time × the stated rate, {rate}. Confirm it."
    return "There is no displacement column and no stated rate. Give the rate, so that time gives displacement."
