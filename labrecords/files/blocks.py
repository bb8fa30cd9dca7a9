"""Where the rows of numbers stand in a file, and which lines are their headers."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from .cells import BLANKS, Grid
from .headings import Heading, bare, has_role_word, heading, unit_of
from .problems import FileProblem
from .statements import has_header_words

LONG_RUN = 10  # rows of numbers in sequence that no header has
_LOOK_UP = 4  # lines above the numbers among which names and units are sought


@dataclass(frozen=True)
class Run:
    """Lines of one kind in sequence, counted from 0, the stop not included."""

    kind: str
    start: int
    stop: int


@dataclass(frozen=True)
class Block:
    """One table: its header lines, and those of its rows (several stretches if blank lines lie between)."""

    header: range
    spans: tuple[range, ...]

    @property
    def rows(self) -> list[int]:
        """Line of every row, counted from 0."""
        return [line for span in self.spans for line in span]


@dataclass(frozen=True)
class Heads:
    """Headings above a table and the lines they stand in, counted from 0."""

    names_line: int | None
    units_line: int | None
    columns: tuple[Heading, ...]
    groups: tuple[str, ...] = ()


def runs(lines: Sequence[str], grid: Grid) -> list[Run]:
    """Lines of the file by kind, in stretches."""
    found: list[Run] = []
    start = 0
    for kind, members in groupby(lines, key=grid.kind):
        stop = start + sum(1 for _ in members)
        found.append(Run(kind, start, stop))
        start = stop
    return found


def first_row(lines: Sequence[str], grid: Grid, found: Sequence[Run]) -> int:
    """Line of the first row of the first table, counted from 0.

    A broken row near the top belongs to the table, so that it is reported and not taken for a header.
    """
    data = [run for run in found if run.kind == "data"]
    if sum(run.stop - run.start for run in data) < 2:
        raise FileProblem(
            "no-table",
            "The file holds no rows of numbers. Export the trace itself, with displacement (or time) and force.",
        )
    longest = max(data, key=lambda run: run.stop - run.start)
    start = next((run.start for run in data if _is_table(lines, grid, run)), longest.start)
    for earlier in reversed([run for run in data if run.stop <= start]):
        if _separates(lines[earlier.stop : start], grid):
            break
        start = earlier.start
    while start > 0 and _is_broken_row(lines[start - 1], grid):
        start -= 1
    return start


def tables(lines: Sequence[str], grid: Grid, found: Sequence[Run], *, start: int, x: int) -> list[Block]:
    """Tables from line `start` on, header lines with each.

    A blank line alone parts two tables unless the numbers of column `x` go on after it. Raises FileProblem
    for a line that is neither a row of numbers nor the head of a table.
    """
    spans = [range(run.start, run.stop) for run in found if run.kind == "data" and run.start >= start]
    if not spans or spans[0].start > start:
        raise _broken(lines[start], grid, start + 1)
    found_blocks = [(range(start), [spans[0]])]
    for before, span in pairwise(spans):
        gap = range(before.stop, span.start)
        _refuse_broken(lines, grid, gap, last=False)
        if _goes_on(lines, grid, gap, before, span, x):
            found_blocks[-1][1].append(span)
        else:
            found_blocks.append((gap, [span]))
    _refuse_broken(lines, grid, range(spans[-1].stop, len(lines)), last=True)
    return [Block(header, tuple(own)) for header, own in found_blocks]


def heads(lines: Sequence[str], grid: Grid, header: range, width: int) -> Heads:
    """Names and units of the columns among the header lines nearest to the rows."""
    near = [line for line in reversed(header) if lines[line].strip()][:_LOOK_UP]
    units_line = near[0] if near and _is_units(_cells(lines[near[0]], grid, width)) else None
    above = near[1:] if units_line is not None else near
    names_line = _names_line(lines, grid, above, width)
    names = _cells(lines[names_line], grid, width) if names_line is not None else []
    units = _cells(lines[units_line], grid, width) if units_line is not None else []
    columns = tuple(heading(*pair) for pair in zip(_padded(names, width), _padded(units, width), strict=True))
    over = [line for line in above if names_line is not None and line < names_line][:1]
    groups = _padded(_cells(lines[over[0]], grid, width), width) if over else []
    return Heads(names_line, units_line, columns if names or units else (), tuple(groups))


def refuse_rows_in_header(lines: Sequence[str], grid: Grid, found: Heads, start: int) -> None:
    """Refuse a line between the headings and the first row that is a broken row: it must not be left out."""
    above = [line for line in (found.names_line, found.units_line) if line is not None]
    top = max(above) + 1 if above else max(0, start - 1)
    for line in range(top, start):
        text = lines[line]
        row = grid.kind(text) == "broken" or (above and grid.kind(text) == "text" and _is_text_row(text, grid))
        if row and not has_header_words(text):
            raise _broken(text, grid, line + 1)


def _names_line(lines: Sequence[str], grid: Grid, above: Sequence[int], width: int) -> int | None:
    named = [line for line in above if _is_names(_cells(lines[line], grid, width), grid, width)]
    telling = [line for line in named if any(heading(cell).role for cell in _cells(lines[line], grid, width))]
    return next(iter(telling or named), None)


def _is_table(lines: Sequence[str], grid: Grid, run: Run) -> bool:
    """Whether a stretch of numbers is long enough, or headed as a trace is."""
    if run.stop - run.start >= LONG_RUN:
        return True
    found = heads(lines, grid, range(max(0, run.start - _LOOK_UP), run.start), len(grid.split(lines[run.start])))
    roles = {column.role for column in found.columns if column.by_words}
    return "force" in roles and bool(roles & {"displacement", "time"})


def _separates(gap: Sequence[str], grid: Grid) -> bool:
    """Whether the lines between two stretches of numbers make them two tables."""
    if not any(line.strip() for line in gap) or any(_is_broken_row(line, grid) for line in gap):
        return False
    return not gap[0].strip() or any(has_header_words(line) for line in gap)


def _is_broken_row(line: str, grid: Grid) -> bool:
    """Whether a line starts as a row of numbers does but does not go on as one."""
    if grid.kind(line) != "broken" or has_header_words(line):
        return False
    return grid.is_number(next(cell for cell in grid.split(line) if cell))


def _goes_on(lines: Sequence[str], grid: Grid, gap: range, before: range, span: range, x: int) -> bool:
    if any(grid.kind(lines[line]) != "blank" for line in gap):
        return False
    last, first = (_number(lines[line], grid, x) for line in (before[-1], span[0]))
    return last is not None and first is not None and first > last


def _number(line: str, grid: Grid, column: int) -> float | None:
    cells = grid.split(line)
    if column >= len(cells) or not grid.is_number(cells[column]):
        return None
    return float(cells[column].replace(grid.decimal, "."))


def _refuse_broken(lines: Sequence[str], grid: Grid, gap: range, *, last: bool) -> None:
    """Refuse lines after a row of numbers that are no head of a table, nor the foot of the file."""
    texts = [lines[line] for line in gap]
    if not texts or _separates(texts, grid):
        return
    for line, text in zip(gap, texts, strict=True):
        kind = grid.kind(text)
        if kind == "broken" or (kind == "text" and (not last or _is_text_row(text, grid))):
            raise _broken(text, grid, line + 1)


def _is_text_row(text: str, grid: Grid) -> bool:
    """Whether a line without numbers has several cells, and is no comment and no drawn line."""
    if text.startswith(("#", "%")) or not re.search(r"[^-=_+\s]", text.replace(grid.delimiter, " ")):
        return False
    return len([cell for cell in grid.split(text) if cell]) > 1


def _broken(text: str, grid: Grid, line: int) -> FileProblem:
    cells = grid.split(text)
    words = [(place, cell) for place, cell in enumerate(cells, start=1) if cell and not grid.is_number(cell)]
    if not words:
        return FileProblem(
            "ragged",
            f"Line {line} has only one number where a row of numbers belongs. "
            "The file may have been cut short; export it again.",
            line,
        )
    place, cell = words[0]
    return not_a_number(cell, line, f"column {place}", grid)


def not_a_number(cell: str, line: int, column: str, grid: Grid) -> FileProblem:
    """The problem of text where a number belongs, naming line, column and what stood there."""
    shown = cell if len(cell) <= 30 else cell[:29] + "…"
    hint = "Correct the file at its source and export it again."
    if grid.is_grouped(cell) or cell.replace(",", "").replace(".", "").isdigit():
        hint = "Export the numbers without grouping, with one decimal sign throughout."
    return FileProblem("not-a-number", f"Line {line}, {column}: “{shown}” is not a number. {hint}", line)


def _cells(line: str, grid: Grid, width: int) -> list[str]:
    """Cells of a header line. Blanks part names only if that gives one name for each column."""
    text = line.strip().lstrip("#%").removeprefix("//") if line.strip()[:1] in "#%/" else line
    if grid.delimiter != BLANKS:
        return grid.split(text)
    return _blank_cells(text, width)


def _blank_cells(text: str, width: int) -> list[str]:
    wide = [cell for cell in re.split(r" {2,}|\t+", text.strip()) if cell]
    with_units = re.findall(r"[^\s(\[]+(?:\s*[(\[][^)\]]*[)\]])?|[(\[][^)\]]*[)\]]", text)
    return next((cells for cells in (wide, with_units) if len(cells) == width), text.split())


def _is_units(cells: Sequence[str]) -> bool:
    filled = [bare(cell) for cell in cells if cell]
    known = sum(unit_of(cell)[1] is not None for cell in filled)
    return known > 0 and known * 2 >= len(filled) and not any(has_role_word(cell) for cell in filled)


def _is_names(cells: Sequence[str], grid: Grid, width: int) -> bool:
    filled = [cell for cell in cells if cell]
    if any(grid.is_number(cell) for cell in filled) or len(filled) < min(2, width):
        return False
    return len(cells) == width or any(heading(cell).role for cell in filled)


def _padded(cells: Sequence[str], width: int) -> list[str]:
    return [*cells, *[""] * width][:width]
