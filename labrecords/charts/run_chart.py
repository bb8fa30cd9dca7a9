"""Results in the order in which they were taken, two groups apart, with what happened between them."""

from collections.abc import Sequence
from dataclasses import dataclass

from .figure import Axis, Figure, LimitLine, Line, Points, Table
from .words import counted, cut, fixed, spoken

_MOST_EVENTS = 6  # more labels than this cannot be read side by side


@dataclass(frozen=True)
class Pull:
    """One result: its specimen, its value, whether it is of the second group, and the day of its test in words."""

    code: str
    value: float
    second: bool
    day: str


@dataclass(frozen=True)
class Event:
    """Something that changed before the result at `place`, counted from 0."""

    place: int
    words: str


def run_chart(
    pulls: Sequence[Pull],
    *,
    names: tuple[str, str],
    unit: str,
    decimals: int,
    said: str,
    events: Sequence[Event] = (),
) -> Figure:
    """Draw the results in their order. Raises ValueError when there is none."""
    if not pulls:
        raise ValueError("There is no value to draw: enter results, or leave this figure out.")
    values = [pull.value for pull in pulls]
    room = 0.08 * (max(values) - min(values) or abs(max(values)) or 1.0)
    return Figure(
        id="changes",
        title=said,
        subtitle=f"{counted(len(pulls), 'result')} in the order of testing; the lines are the two means.",
        x=Axis("Order of testing", 0, -0.5, len(pulls) + 0.5),
        y=Axis(f"Maximum seal strength, {unit}", decimals, min(values) - room, max(values) + room),
        label=cut(f"{counted(len(pulls), 'result')} in {spoken(unit)}, in the order of testing. {said}", longest=240),
        summary=tuple(_sentences(pulls, names, events, unit=unit, decimals=decimals)),
        table=_table(pulls, names, unit=unit, decimals=decimals),
        points=tuple(_points(pulls, names, unit=unit, decimals=decimals)),
        lines=tuple(_means(pulls, names)),
        limits=tuple(LimitLine(event.place + 0.5, event.words, "dot", axis="x") for event in events[:_MOST_EVENTS]),
    )


def _sides(pulls: Sequence[Pull], second: bool) -> list[tuple[int, Pull]]:
    return [(place, pull) for place, pull in enumerate(pulls, start=1) if pull.second == second]


def _sentences(pulls, names, events, *, unit: str, decimals: int) -> list[str]:
    found = []
    for name, second in zip(names, (False, True), strict=True):
        side = [pull.value for _, pull in _sides(pulls, second)]
        if side:
            mean = fixed(sum(side) / len(side), decimals=decimals + 1)
            found.append(f"{name}: {counted(len(side), 'result')}, mean {mean} {unit}.")
    return found + [f"Before result {event.place + 1}: {event.words}." for event in events]


def _points(pulls, names, *, unit: str, decimals: int) -> list[Points]:
    made = []
    for name, second, symbol, colour in (
        (names[0], False, "circle", "series-1"),
        (names[1], True, "square", "series-2"),
    ):
        side = _sides(pulls, second)
        if side:
            made.append(
                Points(
                    name=name,
                    x=tuple(float(place) for place, _ in side),
                    y=tuple(pull.value for _, pull in side),
                    codes=tuple(pull.code for _, pull in side),
                    hover=tuple(
                        f"{pull.code}, {pull.day}: {fixed(pull.value, decimals=decimals)} {unit}" for _, pull in side
                    ),
                    symbol=symbol,
                    colour=colour,
                    filled=second,
                )
            )
    return made


def _means(pulls: Sequence[Pull], names: tuple[str, str]) -> list[Line]:
    made = []
    for name, second, dash in ((names[0], False, "solid"), (names[1], True, "dash")):
        side = _sides(pulls, second)
        if side:
            mean = sum(pull.value for _, pull in side) / len(side)
            ends = (side[0][0] - 0.4, side[-1][0] + 0.4)
            colour = "series-2" if second else "series-1"
            made.append(Line(f"mean {name}", ends, (mean, mean), colour, dash=dash, key=False))
    return made


def _table(pulls, names, *, unit: str, decimals: int) -> Table:
    rows = [
        (str(place), pull.code, pull.day, names[pull.second], fixed(pull.value, decimals=decimals))
        for place, pull in enumerate(pulls, start=1)
    ]
    return Table(
        "Results in the order of testing",
        ("Order", "Specimen", "Day", "Group", unit),
        tuple(rows),
        tuple(pull.code for pull in pulls),
    )
