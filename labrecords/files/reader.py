"""Reading a trace file by its layout: every specimen's trace in SI, or one problem and nothing."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import PurePath
from typing import cast

import numpy as np
from numpy.typing import NDArray

from labrecords.rules.labels import Label, find
from labrecords.stats.traces import CleanTrace, clean_trace

from . import blocks, quantities
from .blocks import Block, Heads
from .decoding import CAP, decode
from .layout import Layout, Series
from .problems import FileProblem
from .sniff import x_column
from .statements import specimen_name, statements
from .table import Table, read_table

LEAST_ROWS = 10
JITTER_MM = 0.05  # how far a reading of displacement may fall behind the furthest before it counts as going back

Floats = NDArray[np.float64]

_OF_ONE_SPECIMEN = ("specimen", "date")


@dataclass(frozen=True, eq=False)
class Segment:
    """One specimen's trace as acquired.

    index : 1, 2, ... within the file; name : of the column or block, else of the file; codes : label codes
    found, the nearest first (column or block header, then file name); stated : rate, technique, width, date,
    specimen as the header says; displacement_mm, force_n, time_s : equally long, in the order of acquisition,
    time_s None if there is no time column; first_line : of its rows, 1-based; rows : how many; dropped : rows
    left out (0: a row that cannot be read refuses the file); backward : steps back within the jitter.
    """

    index: int
    name: str
    codes: tuple[Label, ...]
    stated: dict[str, str]
    displacement_mm: Floats
    force_n: Floats
    time_s: Floats | None
    first_line: int
    rows: int
    dropped: int
    backward: int

    def in_order(self) -> CleanTrace:
        """The readings in the order of travel, none changed: what the numbers are taken from."""
        return clean_trace(self.displacement_mm, self.force_n, jitter_mm=JITTER_MM)


@dataclass(frozen=True, eq=False)
class TraceFile:
    """A trace file that was read whole."""

    name: str
    layout: Layout
    segments: tuple[Segment, ...]


def read(data: bytes, layout: Layout, *, name: str, cap: int = CAP) -> TraceFile:
    """All traces of a file, in newton, millimetre and second.

    data : the file's bytes; layout : how to read them; name : of the file, searched for label codes; cap :
    most bytes.

    Raises FileProblem, naming the line, if any row cannot be read or the file differs from the layout.
    """
    _refuse_incomplete(layout)
    lines = _lines(data, layout, cap)
    tables = _tables(lines, layout)
    segments: list[Segment] = []
    carried: dict[str, str] = {}
    for table in tables:
        heads = _heads(lines, table, layout, first=table is tables[0])
        header = [lines[line] for line in table.header]
        carried = {**_of_file(carried), **statements(header)}
        numbers = read_table(lines, table.rows, layout)
        for series in layout.series:
            about = _about(series, heads, header, carried, layout)
            segments.append(_segment(len(segments) + 1, numbers, series, about, layout, name))
    return TraceFile(name, layout, tuple(segments))


@dataclass(frozen=True)
class _About:
    """What the file says of one specimen."""

    name: str | None
    texts: tuple[str, ...]
    stated: dict[str, str]


def _refuse_incomplete(layout: Layout) -> None:
    if not layout.series or any(one.displacement is None and one.time is None for one in layout.series):
        raise FileProblem(
            "columns-unknown",
            "Choose the columns that hold force and displacement (or time), and read the file again.",
        )
    if any(place >= layout.width for one in layout.series for place in one.places):
        raise FileProblem("columns-unknown", f"The file has {layout.width} columns. Choose among these.")
    quantities.refuse_unknown_units(layout)


def _lines(data: bytes, layout: Layout, cap: int) -> tuple[str, ...]:
    text = decode(data, cap=cap)
    if text.encoding == "cp1252" and layout.encoding != "cp1252":
        raise FileProblem(
            "encoding",
            "The file is not UTF-8 as the layout says. Look at its preview and confirm the encoding.",
        )
    return text.lines


def _tables(lines: Sequence[str], layout: Layout) -> list[Block]:
    found = blocks.runs(lines, layout.grid)
    start = blocks.first_row(lines, layout.grid, found)
    if start + 1 != layout.first_data_line:
        raise FileProblem(
            "table-moved",
            f"The rows of numbers start at line {start + 1}, not at line {layout.first_data_line} as the "
            "layout says. Look at the preview of this file and confirm it.",
            start + 1,
        )
    tables = blocks.tables(lines, layout.grid, found, start=start, x=x_column(layout))
    if len(tables) > 1 and layout.arrangement == "single":
        line = tables[1].rows[0] + 1
        raise FileProblem(
            "columns-unknown",
            f"A second table starts at line {line}, but the layout says one specimen. Look at the preview again.",
            line,
        )
    return tables


def _heads(lines: Sequence[str], table: Block, layout: Layout, *, first: bool) -> Heads:
    """Headings of a table; they must say what the layout was made for."""
    heads = blocks.heads(lines, layout.grid, table.header, layout.width)
    marks = tuple(column.mark for column in heads.columns)
    if marks != layout.marks and (first or any(column.role for column in heads.columns)):
        line = table.rows[0] + 1
        raise FileProblem(
            "columns-unknown",
            f"The headings above line {line} differ from those the layout was confirmed for. "
            "Look at the preview of this file and confirm its columns and units.",
            line,
        )
    blocks.refuse_rows_in_header(lines, layout.grid, heads, table.rows[0])
    return heads


def _of_file(stated: dict[str, str]) -> dict[str, str]:
    """What one header states for the tables after it too."""
    return {key: value for key, value in stated.items() if key not in _OF_ONE_SPECIMEN}


def _about(series: Series, heads: Heads, header: Sequence[str], stated: dict[str, str], layout: Layout) -> _About:
    if len(layout.series) == 1:
        name = next(filter(None, map(specimen_name, header)), None)
        return _About(name, tuple(header), stated)
    over = heads.groups[min(layout.own_columns(series))] if _grouped(heads, layout) else ""
    text = heads.columns[series.force].text if heads.columns else ""
    return _About(specimen_name(over) or over or specimen_name(text) or text, (over, text), _of_file(stated))


def _grouped(heads: Heads, layout: Layout) -> bool:
    """Whether the line over the names holds one name over the first column of each specimen."""
    filled = [place for place, cell in enumerate(heads.groups) if cell]
    return filled == sorted(min(layout.own_columns(series)) for series in layout.series)


def _segment(index: int, table: Table, series: Series, about: _About, layout: Layout, name: str) -> Segment:
    rows = _rows(table, series, layout)
    force = quantities.in_si(table, series.force, rows, role="force", layout=layout)
    time = None
    if series.time is not None:
        time = quantities.in_si(table, series.time, rows, role="time", layout=layout)
        _refuse_return(time, table, "time", "s", jitter=0.0)
    if series.displacement is not None:
        travel = quantities.in_si(table, series.displacement, rows, role="displacement", layout=layout)
    else:
        travel = quantities.from_time(cast(Floats, time), rate=layout.rate, stated=about.stated.get("rate"))
    _refuse_return(travel, table, "displacement", "mm", jitter=JITTER_MM)
    return Segment(
        index=index,
        name=about.name or PurePath(name).stem,
        codes=tuple(dict.fromkeys(code for text in (*about.texts, name) for code in find(text))),
        stated=about.stated,
        displacement_mm=travel,
        force_n=force,
        time_s=time,
        first_line=table.line(0),
        rows=rows,
        **_cleaning(travel, force),
    )


def _rows(table: Table, series: Series, layout: Layout) -> int:
    own = layout.own_columns(series)
    if layout.arrangement == "columns":
        rows = table.rows_of(series.places, own)
    else:
        rows = len(table.rows)
        table.refuse_gaps(series.places, rows)
    if rows < LEAST_ROWS:
        raise FileProblem(
            "too-short",
            f"The trace that starts at line {table.line(0)} has {rows} rows; a trace has at least "
            f"{LEAST_ROWS}. Export the whole trace.",
            table.line(0),
        )
    return rows


def _refuse_return(values: Floats, table: Table, what: str, unit: str, *, jitter: float) -> None:
    behind = np.maximum.accumulate(values) - values
    slack = 2 * np.spacing(np.abs(values).max())  # a step of exactly the jitter is not beyond it
    far = np.flatnonzero(behind > jitter + slack)
    if far.size:
        line = table.line(int(far[0]))
        raise FileProblem(
            "goes-backwards",
            f"Line {line}: {what} goes back by {behind[far[0]]:.4g} {unit}. "
            "Export the pull only, without the return of the grips.",
            line,
        )


def _cleaning(travel: Floats, force: Floats) -> dict[str, int]:
    """What putting the trace in order will do to it, for the preview."""
    cleaned = clean_trace(travel, force, jitter_mm=JITTER_MM)
    return {"dropped": cleaned.dropped, "backward": cleaned.backward}
