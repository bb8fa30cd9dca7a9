"""One strip with a dot for each thing that falls due, on one axis of days: is there a pile-up?"""

from collections.abc import Sequence
from dataclasses import dataclass

from .figure import Axis, Figure, LimitLine, Points, Table
from .words import counted, cut

FIRST, LAST = -30, 180
STEP = 0.16  # how far dots of one day stand from one another


@dataclass(frozen=True)
class DueDot:
    """One thing: what it is, when it is due, in how many days, and whether it stops work."""

    what: str
    day: str
    days: int
    stops: bool


def due_strip(dots: Sequence[DueDot]) -> Figure:
    """Draw what is due from 30 days ago to 180 days ahead; what lies farther off is counted in words."""
    drawn = [dot for dot in dots if FIRST <= dot.days <= LAST]
    heights = _stacked(drawn)
    ahead = sorted(dot.days for dot in drawn if dot.days >= 0)
    said = f"{counted(len(ahead), 'due date')} in the next {LAST} days"
    if ahead:
        said += f"; the next is in {counted(ahead[0], 'day')}"
    past = sum(dot.stops for dot in drawn)
    told = f"{said}. {past} past." if past else f"{said}."
    outside = len(dots) - len(drawn)
    series = []
    for stops, name, symbol, colour in (
        (False, "to come", "circle", "series-1"),
        (True, "stops work", "hexagon", "stop"),
    ):
        at = [place for place, dot in enumerate(drawn) if dot.stops == stops]
        x, y = tuple(float(drawn[i].days) for i in at), tuple(heights[i] for i in at)
        codes, hover = tuple(drawn[i].what for i in at), tuple(f"{drawn[i].what}: {drawn[i].day}" for i in at)
        series.append(Points(name, x, y, codes, hover, symbol, colour, filled=stops))
    return Figure(
        id="due",
        title=told,
        subtitle="A dot for each due date; dots of one day stand above one another.",
        x=Axis("Days from today", 0, FIRST - 3, LAST + 3, tuple((float(day), str(day)) for day in range(-30, 181, 30))),
        y=Axis("", 0, 0.0, max([1.0, *heights]) + STEP, ((-1.0, ""),)),
        label=cut(f"Strip of due dates from 30 days ago to {LAST} days ahead. {told}", longest=240),
        summary=(told, f"{counted(outside, 'due date')} outside these days.") if outside else (told,),
        table=Table(
            "Due dates",
            ("What", "Due", "Days"),
            tuple((dot.what, dot.day, str(dot.days)) for dot in dots),
            tuple(f"{place}" for place, _ in enumerate(dots)),
        ),
        points=tuple(points for points in series if points.x),
        limits=(LimitLine(0.0, "today", "solid", "x"),),
        aspect=0.22,
    )


def _stacked(dots: Sequence[DueDot]) -> list[float]:
    seen: dict[int, int] = {}
    heights = []
    for dot in dots:
        near = sum(count for day, count in seen.items() if abs(day - dot.days) <= 1)
        seen[dot.days] = seen.get(dot.days, 0) + 1
        heights.append(0.2 + STEP * near)
    return heights
