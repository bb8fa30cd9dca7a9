"""Columns of numbers as newton, millimetre and second."""

import numpy as np
from numpy.typing import NDArray

from labrecords.stats import units

from .headings import UNITS, is_per_width, unit_of
from .layout import Layout
from .problems import FileProblem
from .table import Table

Floats = NDArray[np.float64]

_SI = {"force": "N", "displacement": "mm"}
_SECONDS = {"s": 1.0, "min": 60.0, "ms": 0.001}
# Far beyond any tester, and small enough that sums of squares stay finite.
_MOST = {"force": 1e6, "displacement": 1e6, "time": 1e7}
_UNIT_SHOWN = {"force": "N", "displacement": "mm", "time": "s"}


def refuse_unknown_units(layout: Layout) -> None:
    """Refuse a layout in which a column that is used has no unit, or a force per width."""
    for role, unit in (
        ("force", layout.force_unit),
        ("displacement", layout.displacement_unit),
        ("time", layout.time_unit),
    ):
        places = [place for series in layout.series if (place := getattr(series, role)) is not None]
        for place in places:
            _refuse_unit(role, unit, _said(layout, place))


def in_si(table: Table, place: int, rows: int, *, role: str, layout: Layout) -> Floats:
    """First rows of a column in newton, millimetre or second. Refuses what no tester can have measured."""
    unit: str = getattr(layout, f"{role}_unit")
    factor = _SECONDS[unit] if role == "time" else units.factor(unit, _SI[role])
    values = table.columns[place][:rows] * factor
    far = np.flatnonzero(np.abs(values) > _MOST[role])
    if far.size:
        row = int(far[0])
        raise FileProblem(
            "out-of-range",
            f"Line {table.line(row)}, column {place + 1}: {table.cell(row, place)[:30]} {unit} is more than "
            f"any tester measures ({_MOST[role]:g} {_UNIT_SHOWN[role]}). "
            "Check the column, the unit and the decimal sign.",
            table.line(row),
        )
    return values


def from_time(time_s: Floats, *, rate: str | None, stated: str | None) -> Floats:
    """Displacement, millimetre, as time × the confirmed rate, which is the one stated in the file, if any."""
    if rate is None:
        raise FileProblem(
            "rate-unknown",
            "The file has no displacement column and states no rate. Give the rate of grip separation with its unit.",
        )
    confirmed = _mm_per_s(rate)
    if stated is not None and not np.isclose(_mm_per_s(stated), confirmed, rtol=1e-9):
        raise FileProblem(
            "rate-unknown",
            f"The file states a rate of {stated}, the layout {rate}. Find out which was run, and confirm it.",
        )
    return time_s * confirmed


def _refuse_unit(role: str, unit: str | None, said: str | None) -> None:
    if role == "force" and said and is_per_width(said):
        raise FileProblem(
            "unit-unknown",
            f"The force column is in {said}, a force per width. Export the plain force instead.",
        )
    if unit not in UNITS[role]:
        known = ", ".join(UNITS[role])
        raise FileProblem("unit-unknown", f"The unit of {role} is not known. Choose it: {known}.")
    if said and unit_of(said) != (None, None) and unit_of(said) != (role, unit):
        raise FileProblem(
            "unit-differs",
            f"The heading of the {role} column says {said}, the layout {unit}. "
            "Choose the unit of the heading, or correct the heading at its source.",
        )


def _said(layout: Layout, place: int) -> str | None:
    return layout.marks[place][1] if place < len(layout.marks) else None


def _mm_per_s(rate: str) -> float:
    number, _, unit = rate.partition(" ")
    try:
        value = units.convert(float(number), unit, "mm/s")
    except ValueError as error:
        known = ", ".join(units.known("rate"))
        raise FileProblem("rate-unknown", f"“{rate}” is not a rate. Give a number and one of {known}.") from error
    if value <= 0:
        raise FileProblem("rate-unknown", f"A rate is above 0; {rate} is not.")
    return value
