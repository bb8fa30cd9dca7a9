"""How the columns of a trace file are read: found, corrected by a person, remembered per tester."""

from collections.abc import Collection, Mapping
from dataclasses import asdict, dataclass, fields
from typing import Any

from .cells import DECIMALS, DELIMITERS, Grid

ARRANGEMENTS = {
    "single": "one specimen",
    "columns": "several specimens side by side",
    "blocks": "several specimens one below the other",
}
ENCODINGS = ("utf-8", "utf-16-le", "utf-16-be", "cp1252")

Mark = tuple[str | None, str | None]


@dataclass(frozen=True)
class Series:
    """The columns of one specimen, counted from 0."""

    force: int
    displacement: int | None = None
    time: int | None = None

    @property
    def places(self) -> list[int]:
        """Columns in use, the displacement first."""
        return [place for place in (self.displacement, self.force, self.time) if place is not None]


@dataclass(frozen=True)
class Layout:
    """How a file is read. Lines are counted from 1, columns from 0.

    series : one entry, or one per specimen where they stand side by side; empty while not known.
    rate : "300 mm/min", needed where displacement is made from time.
    width : number of columns; marks : role and unit that the heading of each column stated, so that a file
    whose headings state something else is not read with this layout.
    """

    encoding: str
    delimiter: str
    decimal: str
    names_line: int | None
    units_line: int | None
    first_data_line: int
    arrangement: str
    series: tuple[Series, ...]
    force_unit: str | None
    displacement_unit: str | None
    time_unit: str | None
    width: int
    rate: str | None = None
    marks: tuple[Mark, ...] = ()

    def __post_init__(self) -> None:
        _one_of("encoding", self.encoding, ENCODINGS)
        _one_of("delimiter", self.delimiter, DELIMITERS)
        _one_of("decimal", self.decimal, DECIMALS)
        _one_of("arrangement", self.arrangement, ARRANGEMENTS)
        if any(type(place) is not int or place < 0 for one in self.series for place in one.places):
            raise ValueError("Columns are counted from 0 in whole numbers.")

    @property
    def grid(self) -> Grid:
        """Separator and decimal sign together."""
        return Grid(self.delimiter, self.decimal)

    def own_columns(self, series: Series) -> list[int]:
        """Columns of one specimen that no other specimen of the table uses."""
        used = [place for one in self.series for place in one.places]
        return [place for place in series.places if used.count(place) == 1]

    def to_json(self) -> dict[str, Any]:
        """Plain dictionary of text, numbers, lists and None."""
        plain = asdict(self)
        plain["series"] = [asdict(series) for series in self.series]
        plain["marks"] = [list(mark) for mark in self.marks]
        return plain

    @classmethod
    def from_json(cls, plain: Mapping[str, Any]) -> "Layout":
        """The layout that `to_json` wrote. Raises ValueError if it is anything else."""
        known = {field.name for field in fields(cls)}
        if known ^ set(plain):
            raise ValueError(f"A layout has exactly the fields {', '.join(sorted(known))}.")
        try:
            series = tuple(Series(**one) for one in plain["series"])
            marks = tuple((role, unit) for role, unit in plain["marks"])
        except (TypeError, ValueError) as error:
            raise ValueError("The columns of a layout are lists of series and of marks.") from error
        return cls(**{**plain, "series": series, "marks": marks})


def _one_of(name: str, value: str, options: Collection[str]) -> None:
    if value not in options:
        raise ValueError(f"{name} is one of {', '.join(map(repr, options))}, not {value!r}.")
