"""Cells of a line: how they are split, and which of them are numbers."""

import csv
import re
from dataclasses import dataclass
from functools import cached_property

BLANKS = " "
DELIMITERS = {"\t": "tab", ";": "semicolon", "|": "vertical bar", ",": "comma", BLANKS: "blanks"}
DECIMALS = {".": "point", ",": "comma"}

# What programs write where a reading is missing.
MISSING = frozenset(
    {"nan", "+nan", "-nan", "inf", "+inf", "-inf", "infinity", "-infinity", "na", "n/a", "#n/a", "#na"}
    | {
        "null",
        "none",
        "-",
        "--",
        "---",
        "#value!",
        "#div/0!",
        "#num!",
        "1.#qnan",
        "1.#inf",
        "-1.#ind",
        "1.#ind",
    }
    | {"overload", "overflow"}
)
_LEAST_SHARE = 1 / 3  # of a row's cells that are numbers; the others may be clock times, marks, names


@dataclass(frozen=True)
class Grid:
    """Separator and decimal sign of a file. The separator `BLANKS` stands for runs of blanks and tabs."""

    delimiter: str
    decimal: str

    def split(self, line: str) -> list[str]:
        """Cells of a line, blanks around them removed.

        >>> Grid(";", ",").split("0,1; 2,5 ;")
        ['0,1', '2,5', '']
        """
        if self.delimiter == BLANKS:
            return line.split()
        if '"' in line:
            return [cell.strip() for cell in next(csv.reader([line], delimiter=self.delimiter))]
        return [cell.strip() for cell in line.split(self.delimiter)]

    def is_number(self, cell: str) -> bool:
        """Whether a cell is a plain number, without grouping.

        >>> Grid(";", ",").is_number("-1,5e-3"), Grid(";", ".").is_number("1,234")
        (True, False)
        """
        return self._number.fullmatch(cell) is not None

    def is_grouped(self, cell: str) -> bool:
        """Whether a cell is a number whose thousands are grouped, which is not read but named.

        >>> Grid(";", ".").is_grouped("1,234.5"), Grid(";", ".").is_grouped("12,34")
        (True, False)
        """
        return self._grouped.fullmatch(cell) is not None

    def kind(self, line: str) -> str:
        """What a line is: "data" (two or more numbers), "broken" (some), "text" (none) or "blank"."""
        if self._plain_row.fullmatch(line):
            return "data"
        if not line.strip():
            return "blank"
        cells = [cell for cell in self.split(line) if cell]
        if not cells:
            return "blank"
        numbers = sum(self.is_number(cell) or self._stands_for_one(cell) for cell in cells)
        if numbers >= 2 and numbers >= _LEAST_SHARE * len(cells):
            return "data"
        return "broken" if any(self.is_number(cell) for cell in cells) else "text"

    def _stands_for_one(self, cell: str) -> bool:
        """Whether a cell is in a number's place, so that its row is reported and not taken for a header."""
        return cell.casefold() in MISSING or self.is_grouped(cell)

    @cached_property
    def _grouped(self) -> re.Pattern[str]:
        sign = {".": ",", ",": r"\."}[self.decimal]
        return re.compile(rf"[+-]?[0-9]{{1,3}}(?:[{sign}' ][0-9]{{3}})+(?:{re.escape(self.decimal)}[0-9]*)?")

    @cached_property
    def _number(self) -> re.Pattern[str]:
        return re.compile(self._number_text)

    @cached_property
    def _number_text(self) -> str:
        point = re.escape(self.decimal)
        return rf"[+-]?(?:[0-9]+(?:{point}[0-9]*)?|{point}[0-9]+)(?:[eE][+-]?[0-9]+)?"

    @cached_property
    def _plain_row(self) -> re.Pattern[str]:
        """A quick way to tell most rows of numbers."""
        number = self._number_text
        if self.delimiter == BLANKS:
            return re.compile(rf"[ \t]*{number}(?:[ \t]+{number})+[ \t]*")
        sep = re.escape(self.delimiter)
        return re.compile(rf" *{number} *{sep} *{number} *(?:{sep} *(?:{number} *)?)*")


def candidates() -> tuple[Grid, ...]:
    """Every pairing worth trying, the least doubtful first."""
    return tuple(Grid(delimiter, decimal) for delimiter in DELIMITERS for decimal in DECIMALS)
