"""Figures about equipment: drift over calibrations, checks on a control chart, and which cell fits."""

from collections.abc import Sequence

from labrecords.charts import cell_fit as fit_chart
from labrecords.charts import control_chart, drift
from labrecords.charts.figure import Figure
from labrecords.models import Calibration, CheckBaseline, CheckReading
from labrecords.queries import cell_fit, lab
from labrecords.rules.check_before_use import spread_of
from labrecords.rules.verified_range import E4_ERROR_PERCENT, points_of

from .days import written_day, written_time


def drift_figure(calibrations: Sequence[Calibration]) -> Figure | None:
    """Errors over the calibrations of an item, oldest first; None where none has points."""
    with_points = [made for made in reversed(calibrations) if made.as_found or made.as_left]
    drawn = [made for made in with_points if not hasattr(made, "superseded_by")]
    if not drawn:
        return None
    errors = [
        drift.CalibrationErrors(f"{made.performed_on:%d %b %Y}", _errors(made.as_found), _errors(made.as_left))
        for made in drawn
    ]
    return drift.drift(errors, allowed_percent=E4_ERROR_PERCENT)


def _errors(rows) -> tuple[tuple[float, float], ...]:
    return tuple((point.applied, point.error_percent) for point in points_of(rows))


def check_figures(readings: Sequence[CheckReading], baseline: CheckBaseline | None) -> list[Figure]:
    """The control chart of a pair's readings, and of their moving ranges."""
    zone = lab.zone()
    points = [control_chart.CheckPoint(_when(made, zone), made.value_n, tuple(made.signals)) for made in readings]
    limits = baseline and _limits(baseline)
    figures = [control_chart.individuals_chart(points, limits=limits)] if points else []
    return [*figures, control_chart.moving_range_chart(points, limits=limits)] if len(points) > 1 else figures


def _limits(baseline: CheckBaseline) -> control_chart.ChartLimits:
    sigma, range_limit = spread_of(baseline.moving_range_n)
    set_on = written_day(baseline.at, lab.zone())
    name = f"{baseline.name} ({baseline.readings} readings, set on {set_on})"
    return control_chart.ChartLimits(name, baseline.centre_n, sigma, range_limit)


def _when(made: CheckReading, zone) -> str:
    return written_time(made.taken_at, zone).rsplit(" ", 1)[0]


def fit_figure(fits: Sequence[cell_fit.Fit], *, weak_n: float, strong_n: float) -> Figure | None:
    """Relative uncertainty against force, a line a cell; None where nothing is known of any."""
    forces = tuple(cell_fit.forces(weak_n, strong_n))
    lines = [
        fit_chart.CellLine(
            name=fit.item.name,
            forces_n=forces,
            percents=tuple(100 * fit.uncertainty_at(force) for force in forces),
            at_weak_percent=100 * fit.uncertainty,
        )
        for fit in fits
        if fit.uncertainty is not None
    ]
    return fit_chart.cell_fit(lines, weak_n=weak_n, strong_n=strong_n) if lines else None
