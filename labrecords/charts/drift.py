"""Drift of an item over its calibrations: its errors as found and as left, point by point."""

from collections.abc import Sequence
from dataclasses import dataclass

from .figure import Axis, Figure, LimitLine, Points, Table
from .words import counted, cut, fixed


@dataclass(frozen=True)
class CalibrationErrors:
    """One calibration: its day, and (applied force in newtons, error in per cent) as found and as left."""

    day: str
    found: tuple[tuple[float, float], ...]
    left: tuple[tuple[float, float], ...] = ()


def drift(calibrations: Sequence[CalibrationErrors], *, allowed_percent: float) -> Figure:
    """Draw the errors, oldest calibration first. Raises ValueError when none has points."""
    if not any(made.found or made.left for made in calibrations):
        raise ValueError("No calibration has points to draw.")
    worst = [max((abs(error) for _, error in made.found), default=0.0) for made in calibrations]
    said = (
        f"Largest error as found, latest calibration: {fixed(worst[-1], decimals=2)} %; "
        f"{fixed(allowed_percent, decimals=1)} % is allowed."
    )
    errors = [error for made in calibrations for _, error in (*made.found, *made.left)]
    reach = 1.15 * max(allowed_percent, *map(abs, errors))
    ticks = tuple((float(place), made.day) for place, made in enumerate(calibrations))
    return Figure(
        id="drift",
        title=said,
        subtitle=f"Errors of {counted(len(calibrations), 'calibration')}, each force a mark.",
        x=Axis("Calibration", 0, -0.6, len(calibrations) - 0.4, ticks),
        y=Axis("Error, % of applied force", 1, -reach, reach),
        label=cut(f"Errors in per cent over {counted(len(calibrations), 'calibration')}. {said}", longest=240),
        summary=tuple(
            f"{made.day}: largest error as found {fixed(largest, decimals=2)} %."
            for made, largest in zip(calibrations, worst, strict=True)
        ),
        table=_table(calibrations),
        points=tuple(series for series in _series(calibrations) if series.x),
        limits=tuple(
            LimitLine(sign * allowed_percent, f"{'+' if sign > 0 else '−'}{allowed_percent:g} %", "dash")
            for sign in (1, -1)
        ),
    )


def _series(calibrations: Sequence[CalibrationErrors]) -> list[Points]:
    made = []
    for name, kind, shift, symbol in (("as found", "found", -0.12, "circle"), ("as left", "left", 0.12, "square")):
        rows = [
            (place + shift, error, f"{each.day}, {force:g} N")
            for place, each in enumerate(calibrations)
            for force, error in getattr(each, kind)
        ]
        x, y, codes = (tuple(row[i] for row in rows) for i in range(3))
        hover = tuple(f"{code} {name}: {fixed(error, decimals=2)} %" for error, code in zip(y, codes, strict=True))
        colour = "series-1" if kind == "found" else "series-2"
        made.append(Points(name, x, y, codes, hover, symbol, colour, filled=kind == "left"))
    return made


def _table(calibrations: Sequence[CalibrationErrors]) -> Table:
    rows = [
        (made.day, name, f"{force:g}", fixed(error, decimals=2))
        for made in calibrations
        for name, kind in (("as found", "found"), ("as left", "left"))
        for force, error in getattr(made, kind)
    ]
    columns = ("Calibration", "When", "Applied, N", "Error, %")
    return Table("Errors by calibration", columns, tuple(rows), tuple(str(place) for place, _ in enumerate(rows)))
