"""Each person against the others: the difference with its interval, and the margin set beforehand."""

from collections.abc import Sequence
from dataclasses import dataclass

from .figure import Axis, Figure, LimitLine, Line, Points, Table
from .words import counted, cut, fixed, spoken

_SYMBOLS = ("circle", "square", "diamond", "pentagon", "hexagon", "star")
_COLOURS = ("series-1", "series-2", "series-3", "series-4")


@dataclass(frozen=True)
class Difference:
    """One person's difference from the others for one material, with the ends of its interval."""

    person: str
    material: str
    difference: float
    low: float
    high: float


def agreement(differences: Sequence[Difference], *, margin: float, unit: str, decimals: int, said: str) -> Figure:
    """Draw the differences, person by person. Raises ValueError when there is none."""
    if not differences:
        raise ValueError("There is no difference to draw: enter results, or leave this figure out.")
    people = list(dict.fromkeys(row.person for row in differences))
    materials = list(dict.fromkeys(row.material for row in differences))
    most = max(margin, *(abs(end) for row in differences for end in (row.low, row.high)))
    return Figure(
        id="agreement",
        title=said,
        subtitle="Each mark is a person's mean less that of the others, with its 90 % interval.",
        x=Axis("Person", 0, 0.5, len(people) + 0.5, tuple((place, name) for place, name in enumerate(people, start=1))),
        y=Axis(f"Difference, {unit}", decimals - 1, -1.1 * most, 1.1 * most),
        label=cut(f"Differences of {counted(len(people), 'person')} in {spoken(unit)}. {said}", longest=240),
        summary=tuple(_sentence(row, unit=unit, decimals=decimals) for row in differences),
        table=_table(differences, unit=unit, decimals=decimals),
        points=tuple(_points(differences, material, people, materials, unit, decimals) for material in materials),
        lines=tuple(_interval(row, people, materials) for row in differences),
        limits=tuple(LimitLine(end, f"margin {_signed(end, decimals)}", "dash") for end in (margin, -margin)),
    )


def _signed(value: float, decimals: int) -> str:
    text = fixed(abs(value), decimals=decimals)
    return f"−{text}" if value < 0 else f"+{text}"


def _ends(row: Difference, decimals: int) -> tuple[str, str, str]:
    return _signed(row.difference, decimals), _signed(row.low, decimals), _signed(row.high, decimals)


def _sentence(row: Difference, *, unit: str, decimals: int) -> str:
    middle, low, high = _ends(row, decimals)
    return f"{row.person}, {row.material}: {middle} {unit}, from {low} to {high}."


def _at(row: Difference, people: list[str], materials: list[str]) -> float:
    """Where a mark stands: at its person, materials side by side."""
    step = 0.5 / max(len(materials), 2)
    return people.index(row.person) + 1 + step * (materials.index(row.material) - (len(materials) - 1) / 2)


def _points(differences, material, people, materials, unit, decimals) -> Points:
    rows = [row for row in differences if row.material == material]
    place = materials.index(material)
    return Points(
        name=material,
        x=tuple(_at(row, people, materials) for row in rows),
        y=tuple(row.difference for row in rows),
        codes=tuple(f"{row.person}, {row.material}" for row in rows),
        hover=tuple(_sentence(row, unit=unit, decimals=decimals) for row in rows),
        symbol=_SYMBOLS[place % len(_SYMBOLS)],
        colour=_COLOURS[place % len(_COLOURS)],
        filled=True,
    )


def _interval(row: Difference, people: list[str], materials: list[str]) -> Line:
    place = _at(row, people, materials)
    colour = _COLOURS[materials.index(row.material) % len(_COLOURS)]
    return Line(f"interval of {row.person}", (place, place), (row.low, row.high), colour, width_pt=1.5, key=False)


def _table(differences: Sequence[Difference], *, unit: str, decimals: int) -> Table:
    rows = tuple((row.person, row.material, *_ends(row, decimals)) for row in differences)
    columns = ("Person", "Material", f"Difference, {unit}", "From", "To")
    return Table("Each person against the others", columns, rows, tuple(f"{row[0]}, {row[1]}" for row in rows))
