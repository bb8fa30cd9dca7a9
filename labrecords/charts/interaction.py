"""Whether people differ alike on all materials: each person's means joined, over the values themselves."""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import mean

from .figure import DASHES, Axis, Figure, Line, Points, Table
from .words import counted, cut, fixed, spoken

_SYMBOLS = ("circle", "square", "diamond", "pentagon", "hexagon", "star")
_COLOURS = ("series-1", "series-2", "series-3", "series-4")
MOST = 6  # lines that can still be told apart


@dataclass(frozen=True)
class Value:
    """One value of one person for one material."""

    person: str
    material: str
    value: float


def interaction(values: Sequence[Value], *, unit: str, decimals: int, said: str) -> Figure:
    """Draw a line of means for each person, materials in the order of their means.

    Raises ValueError for fewer than two materials or people, or more people than can be told apart.
    """
    people = sorted({row.person for row in values})
    materials = sorted({row.material for row in values}, key=lambda name: _mean(values, material=name))
    if len(materials) < 2 or not 2 <= len(people) <= MOST:
        raise ValueError(f"Two materials and two to {MOST} people are needed: leave this figure out.")
    low, high = min(row.value for row in values), max(row.value for row in values)
    room = 0.08 * ((high - low) or abs(high) or 1.0)
    return Figure(
        id="interaction",
        title=said,
        subtitle="Each line joins one person's means; open marks are the values. Parallel lines: all differ alike.",
        x=Axis("Material", 0, 0.5, len(materials) + 0.5, tuple(enumerate(materials, start=1))),
        y=Axis(f"Strength, {unit}", decimals - 1, low - room, high + room),
        label=cut(f"Means of {counted(len(people), 'person')} in {spoken(unit)}. {said}", longest=240),
        summary=tuple(_sentence(values, name, materials, unit, decimals) for name in people),
        table=_table(values, people, materials, unit, decimals),
        points=tuple(_points(values, name, people, materials, unit, decimals) for name in people),
        lines=tuple(_line(values, name, people, materials) for name in people),
    )


def _mean(values: Sequence[Value], **parts: str) -> float:
    return mean(row.value for row in values if all(getattr(row, name) == part for name, part in parts.items()))


def _means(values: Sequence[Value], person: str, materials: list[str]) -> list[tuple[int, float]]:
    """Place and mean of every material of which the person has values."""
    own = {row.material for row in values if row.person == person}
    return [
        (place, _mean(values, person=person, material=name))
        for place, name in enumerate(materials, start=1)
        if name in own
    ]


def _sentence(values, person: str, materials: list[str], unit: str, decimals: int) -> str:
    said = ", ".join(
        f"{materials[place - 1]} {fixed(value, decimals=decimals)}"
        for place, value in _means(values, person, materials)
    )
    return f"{person}: {said} {unit}."


def _look(person: str, people: list[str]) -> tuple[str, str, str]:
    place = people.index(person)
    return _SYMBOLS[place], _COLOURS[place % len(_COLOURS)], DASHES[place % len(DASHES)]


def _line(values, person: str, people: list[str], materials: list[str]) -> Line:
    _, colour, dash = _look(person, people)
    found = _means(values, person, materials)
    x, y = tuple(float(place) for place, _ in found), tuple(value for _, value in found)
    return Line(f"mean of {person}", x, y, colour, dash=dash, width_pt=1.5, key=False, end_label=person)


def _points(values, person: str, people: list[str], materials: list[str], unit: str, decimals: int) -> Points:
    symbol, colour, _ = _look(person, people)
    own = [row for row in values if row.person == person]
    aside = 0.3 * (people.index(person) - (len(people) - 1) / 2) / len(people)
    codes = tuple(f"{person} {number}" for number in range(1, len(own) + 1))
    return Points(
        name=person,
        x=tuple(materials.index(row.material) + 1 + aside for row in own),
        y=tuple(row.value for row in own),
        codes=codes,
        hover=tuple(f"{person}, {row.material}: {fixed(row.value, decimals=decimals)} {unit}" for row in own),
        symbol=symbol,
        colour=colour,
    )


def _table(values, people: list[str], materials: list[str], unit: str, decimals: int) -> Table:
    found = {name: dict(_means(values, name, materials)) for name in people}
    places = range(1, len(materials) + 1)

    def text(name: str, place: int) -> str:
        return fixed(found[name][place], decimals=decimals) if place in found[name] else "none"

    rows = tuple((name, *(text(name, place) for place in places)) for name in people)
    return Table(f"Means, {unit}", ("Person", *materials), rows, tuple(people))
