"""Where labels lie on a sheet: ordinary sheets that are filled by rows, and stock with one label a page."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

SMALLEST_MM = (30.0, 15.0)  # a code that scans, and its text beside it
MOST = 1000


class SheetProblem(ValueError):
    """A sheet on which labels cannot be printed; its message is a sentence to show."""


@dataclass(frozen=True)
class Sheet:
    """A page of equal labels, in mm: `side` left and right of the outer ones, `top` above and below."""

    words: str
    width: float
    height: float
    columns: int = 1
    rows: int = 1
    side: float = 0.0
    top: float = 0.0
    between: float = 0.0  # columns; rows touch

    @property
    def count(self) -> int:
        """Labels on a whole sheet."""
        return self.columns * self.rows

    @property
    def label(self) -> tuple[float, float]:
        """Width and height of one label.

        >>> SHEETS["a4-3x8"].label
        (64.0, 33.875)
        """
        across = self.width - 2 * self.side - (self.columns - 1) * self.between
        return across / self.columns, (self.height - 2 * self.top) / self.rows

    def place(self, number: int) -> tuple[int, float, float]:
        """Page (from 0), and left and upper edge of label `number` (from 0), row by row.

        >>> SHEETS["a4-3x8"].place(4)
        (0, 73.0, 46.875)
        """
        page, on_page = divmod(number, self.count)
        row, column = divmod(on_page, self.columns)
        width, height = self.label
        return page, self.side + column * (width + self.between), self.top + row * height


SHEETS = {
    "a4-3x8": Sheet("A4, 3 across and 8 down", 210, 297, 3, 8, side=7, top=13, between=2),
    "a4-5x13": Sheet("A4, 5 across and 13 down", 210, 297, 5, 13, side=5, top=11, between=2.5),
    "letter-3x8": Sheet("US letter, 3 across and 8 down", 215.9, 279.4, 3, 8, side=5, top=13, between=3),
    "letter-5x13": Sheet("US letter, 5 across and 13 down", 215.9, 279.4, 5, 13, side=5, top=10, between=2.5),
    "single": Sheet("one label a page, 50 × 25 mm", 50, 25),
    "single-large": Sheet("one label a page, 70 × 35 mm", 70, 35),
}


def sheet(name: str, margins: Mapping[str, float | None]) -> Sheet:
    """A sheet by its name with other margins (`side`, `top`, `between`) where they are given.

    >>> sheet("single", {"top": None}).label
    (50.0, 25.0)
    """
    if name not in SHEETS:
        raise SheetProblem(f"“{name}” is not a sheet. Choose one of: {', '.join(SHEETS)}.")
    usual = SHEETS[name]
    made = replace(
        usual,
        side=_given(margins, "side", usual.side),
        top=_given(margins, "top", usual.top),
        between=_given(margins, "between", usual.between),
    )
    width, height = made.label
    if width < SMALLEST_MM[0] or height < SMALLEST_MM[1]:
        least = " × ".join(f"{size:g}" for size in SMALLEST_MM)
        raise SheetProblem(
            f"With these margins a label has {max(width, 0):.1f} × {max(height, 0):.1f} mm; the least on which a code "
            f"can be scanned is {least} mm. Make the margins smaller, or choose larger labels."
        )
    return made


def _given(margins: Mapping[str, float | None], name: str, usual: float) -> float:
    value = margins.get(name)
    return usual if value is None else value


def start(on: Sheet, first: int) -> int:
    """How many labels of the first sheet are left empty when printing begins at label `first` (from 1).

    >>> start(SHEETS["a4-3x8"], 5)
    4
    """
    if not 1 <= first <= on.count:
        raise SheetProblem(f"This sheet has labels 1 to {on.count}; it cannot be begun at label {first}.")
    return first - 1
