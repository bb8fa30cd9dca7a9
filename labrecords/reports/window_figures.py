"""The figure of a window study: strength at its settings, for one place of the pack."""

import itertools

from labrecords.charts import window_curve
from labrecords.charts.figure import Figure
from labrecords.charts.limits import Limit
from labrecords.models import Study
from labrecords.queries import values, windows

from .figures import KINDS


def window_figure(study: Study, place: windows.Place, number: int) -> Figure | None:
    """Packs, curve and bounds of one place; None while no setting has values that could all be measured."""
    axis = place.axis
    if not any(cell.packs for cell in place.cells):
        return None
    return window_curve.window_curve(
        [_packs(place, cell) for cell in place.cells],
        unit=study.setup.unit,
        decimals=study.setup.decimals,
        axis=axis.label if axis else "Sealing setting",
        curve=_curve(place),
        limits=[Limit(value, KINDS[limit.kind], limit.side) for limit, value in values.limits(study)],
        place=place.label,
        figure_id=f"window-{number}",
    )


def _at(place: windows.Place, number: int) -> float:
    """Where a setting stands: in proportion to the factor that moves, the nearest two one apart; else in order."""
    if place.axis is None:
        return float(number)
    return _scaled(place.axis, place.axis.values[number - 1])


def _scaled(axis: windows.Axis, value: float) -> float:
    places = sorted(set(axis.values))
    nearest = min(after - before for before, after in itertools.pairwise(places))
    return (value - places[0]) / nearest


def _packs(place: windows.Place, cell: windows.Cell) -> window_curve.SettingPacks:
    bound, upper = cell.found.bound, cell.found.upper_bound
    row, axis = cell.setting, place.axis
    label = row.label if axis is None else f"{row.label}, {axis.values[row.number - 1]:g}"
    return window_curve.SettingPacks(
        label=label,
        kind=row.kind,
        x=_at(place, row.number),
        values=cell.packs or (),
        codes=windows.pack_labels(cell.found) if cell.packs else (),
        bound=bound.value,
        upper=upper.value if upper else None,
        acceptable=cell.acceptable,
    )


def _curve(place: windows.Place) -> list[window_curve.CurvePoint]:
    if place.curve is None or place.axis is None:
        return []
    return [
        window_curve.CurvePoint(_scaled(place.axis, at.x), at.fitted, at.tolerance_low, at.tolerance_high)
        for at in place.curve.band
    ]
