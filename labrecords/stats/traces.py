"""Force against grip travel: putting a trace in order, and reducing it to peak, average and energy."""

import math
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from labrecords.stats import checked
from labrecords.stats.checked import Floats
from labrecords.stats.interval import Interval

QUIET_READINGS = 10  # fewer say nothing about noise


@dataclass(frozen=True, eq=False)
class CleanTrace:
    """A trace in order of travel, every force as it was read.

    Attributes
    ----------
    displacement_mm, force_n : ndarray
        Travel (never falling) and force of the rows kept.
    dropped : int
        Rows left out because travel or force was not a number.
    equal, backward : int
        Steps, in the order of acquisition, that stood still or went back.
    rows : ndarray of int
        Where each kept row stood in the input, counted from 0: ``time_s[rows]`` belongs to these readings.
    """

    displacement_mm: Floats
    force_n: Floats
    dropped: int
    equal: int
    backward: int
    rows: NDArray[np.intp]


@dataclass(frozen=True)
class ReducedTrace:
    """What one trace says.

    Attributes
    ----------
    peak_force_n, peak_displacement_mm : float
        Largest force read and the travel at which it first came.
    start_mm, end_mm : float
        The peel span: travel at which force first passes the threshold, and last falls to it.
    start_open, end_open : bool
        The trace starts, or stops, above the threshold: the span is cut off there.
    analysed_from_mm, analysed_to_mm : float
        The central part of the peel span.
    mean_force_n, min_force_n, max_force_n : float
        Over the analysed span, its interpolated ends included.
    energy_mj, energy_span_mj : float
        Area under the whole trace, and under the peel span; N mm = mJ.
    points : int
        Readings within the analysed span.
    noise_n : float or None
        Standard deviation of the quiet readings about a straight line; None if they are fewer than 10.
    threshold_n, threshold_fraction, span_fraction : float
        The rule that was applied.
    """

    peak_force_n: float
    peak_displacement_mm: float
    start_mm: float
    end_mm: float
    start_open: bool
    end_open: bool
    analysed_from_mm: float
    analysed_to_mm: float
    mean_force_n: float
    min_force_n: float
    max_force_n: float
    energy_mj: float
    energy_span_mj: float
    points: int
    noise_n: float | None
    threshold_n: float
    threshold_fraction: float
    span_fraction: float


class _Cut(NamedTuple):
    """A span, the first and last reading within it, and the force interpolated at its two ends."""

    span: Interval
    first: int
    last: int
    at_low: float
    at_high: float


def clean_trace(displacement_mm: ArrayLike, force_n: ArrayLike, *, jitter_mm: float = 0.05) -> CleanTrace:
    """Put a trace in order of travel without changing a reading, and count what was done.

    Parameters
    ----------
    displacement_mm, force_n : array_like, one-dimensional, equally long
        Grip travel, millimetre, and force, newton, in the order of acquisition. A row in which either is
        not a finite number (NaN, None, infinite, text that is no number) is dropped and counted.
    jitter_mm : float
        How far travel may fall behind the furthest point reached, millimetre, 0 or more.

    Returns
    -------
    CleanTrace
        Nothing is averaged or interpolated: every force is one that was read.

    Raises
    ------
    ValueError
        If fewer than 2 rows hold numbers, or travel falls back by more than the jitter: the sentence names
        the row.

    Notes
    -----
    Rows within the jitter are sorted by travel; rows of equal travel keep their order of acquisition.
    Falling back is measured from the furthest point reached, so that a slow return of many small steps is
    not taken for jitter. A trace in which rows were dropped or put in order needs a person's agreement
    before it is kept.

    Examples
    --------
    >>> trace = clean_trace([0, 0.1, 0.1, 0.3, 0.28, None], [0, 1, 2, 5, 4, 6])
    >>> trace.dropped, trace.equal, trace.backward
    (1, 1, 1)
    >>> trace.force_n.tolist()
    [0.0, 1.0, 2.0, 4.0, 5.0]
    """
    jitter = checked.at_least(jitter_mm, 0, name="jitter_mm")
    travel, force, rows = _rows_with_numbers(displacement_mm, force_n)
    steps = np.diff(travel)
    backward = int(np.count_nonzero(steps < 0))
    if backward:
        _refuse_return(travel, rows, jitter=jitter)
    order = np.argsort(travel, kind="stable")
    return CleanTrace(
        displacement_mm=travel[order],
        force_n=force[order],
        dropped=np.size(displacement_mm) - rows.size,
        equal=int(np.count_nonzero(steps == 0)),
        backward=backward,
        rows=rows[order],
    )


def reduce_trace(
    displacement_mm: ArrayLike,
    force_n: ArrayLike,
    *,
    threshold_fraction: float = 0.2,
    span_fraction: float = 0.8,
) -> ReducedTrace:
    """Reduce a force trace to peak, average force over the analysed span, and energy.

    Parameters
    ----------
    displacement_mm, force_n : array_like, one-dimensional, equally long, at least 3 readings
        Grip travel, millimetre, never falling (``clean_trace`` puts it in order), and force, newton.
    threshold_fraction : float
        Share of the peak force that marks the peel span, between 0 and 1.
    span_fraction : float
        Share of the peel span that is analysed, its centre; above 0, at most 1.

    Returns
    -------
    ReducedTrace

    Raises
    ------
    ValueError
        If a reading is not a finite number, travel falls, no force is above 0, or the peel span has no
        length.

    Notes
    -----
    Crossings are interpolated linearly; energies and the average are trapezoid integrals, interpolated at
    the ends of the span. The average is withheld by the caller where the strip broke or stretched instead
    of peeling [1]_, and the amount cut off at each end must be the same for all tests that are compared
    [2]_. An open end means that the span, and with it the average, depends on where the machine started or
    stopped.

    The quiet readings are the first half of those before the start: the other half is left to the rise of
    the force. Noise is their residual standard deviation about a straight line (n - 2 degrees of freedom).

    References
    ----------
    .. [1] ASTM F88/F88M, from memory: average seal strength applies where the mode is peel.
    .. [2] ASTM F88/F88M, 3.1.1.1: what is left out at the ends.

    Examples
    --------
    >>> reduced = reduce_trace([0, 1, 2, 3, 4, 5, 6], [0, 5, 5, 5, 5, 5, 0])
    >>> round(reduced.start_mm, 12), round(reduced.end_mm, 12), reduced.mean_force_n, reduced.energy_mj
    (0.2, 5.8, 4.935714285714286, 25.0)
    """
    travel, force, steps = _in_order(displacement_mm, force_n)
    threshold_fraction = checked.fraction(threshold_fraction, name="threshold_fraction")
    span_fraction = _share(span_fraction, name="span_fraction")
    peak = int(force.argmax())
    peak_force = force.item(peak)
    if peak_force <= 0:
        raise ValueError(f"force_n must rise above 0; its largest value is {peak_force!r}.")
    threshold = threshold_fraction * peak_force
    above = force > threshold
    first, last = int(above.argmax()), above.size - 1 - int(above[::-1].argmax())
    peel = _peel(travel, force, threshold=threshold, first=first, last=last)
    span, analysed = peel.span, _central(peel.span, span_fraction)
    sides = force[1:] + force[:-1]  # twice the mean force of each step
    cut = peel if analysed == span else _cut(travel, force, analysed)
    forces = _extremes(force, cut)
    return ReducedTrace(
        peak_force_n=peak_force,
        peak_displacement_mm=travel.item(peak),
        start_mm=span.low,
        end_mm=span.high,
        start_open=first == 0,
        end_open=last == force.size - 1,
        analysed_from_mm=analysed.low,
        analysed_to_mm=analysed.high,
        mean_force_n=_area(travel, force, steps, sides, cut) / (analysed.high - analysed.low),
        min_force_n=forces.low,
        max_force_n=forces.high,
        energy_mj=float(steps.dot(sides)) / 2,
        energy_span_mj=_area(travel, force, steps, sides, peel),
        points=cut.last + 1 - cut.first,
        noise_n=_noise(force[: first // 2]),
        threshold_n=threshold,
        threshold_fraction=threshold_fraction,
        span_fraction=span_fraction,
    )


def measured_rate(displacement_mm: ArrayLike, time_s: ArrayLike, *, within_mm: Interval | None = None) -> float:
    """Return the rate of grip separation, mm/min, as the slope of the least-squares line of travel on time.

    Parameters
    ----------
    displacement_mm, time_s : array_like, one-dimensional, equally long, at least 2 readings
        Grip travel, millimetre, and time, second.
    within_mm : Interval, optional
        Use only the readings whose travel lies within, such as the peel span ``(start_mm, end_mm)``. All if
        left out.

    Returns
    -------
    float
        mm/min, above 0.

    Raises
    ------
    ValueError
        If a reading is not a finite number, fewer than 2 lie within, time stands still, or travel does not
        grow.

    Examples
    --------
    >>> measured_rate([0, 5, 10, 15, 20], [0, 1, 2, 3, 4])
    300.0
    """
    travel = checked.array(displacement_mm, name="displacement_mm")
    time = checked.array(time_s, name="time_s")
    checked.same_length(travel, time, names=("displacement_mm", "time_s"))
    if within_mm is not None:
        inside = (travel >= within_mm[0]) & (travel <= within_mm[1])
        travel, time = travel[inside], time[inside]
    rate = 60 * _slope(checked.spread(time, name="time_s"), travel)
    if rate <= 0:
        raise ValueError(f"displacement_mm must grow with time_s; got a rate of {rate!r} mm/min.")
    return rate


def _rows_with_numbers(displacement_mm: ArrayLike, force_n: ArrayLike) -> tuple[Floats, Floats, NDArray[np.intp]]:
    travel, force = _column(displacement_mm, name="displacement_mm"), _column(force_n, name="force_n")
    checked.same_length(travel, force, names=("displacement_mm", "force_n"))
    rows = np.flatnonzero(np.isfinite(travel) & np.isfinite(force))
    if rows.size < 2:
        raise ValueError(f"displacement_mm and force_n must hold at least 2 rows of numbers; got {rows.size}.")
    return (
        checked.array(travel[rows], name="displacement_mm"),
        checked.array(force[rows], name="force_n"),
        rows,
    )


def _column(data: ArrayLike, *, name: str) -> Floats:
    """A column in which what is no number becomes NaN."""
    column: Any = np.asarray(data)
    if column.ndim != 1:
        raise ValueError(f"{name} must be one-dimensional; got {column.ndim} dimensions.")
    if column.dtype.kind in "OU":
        return np.asarray(pd.to_numeric(pd.Series(column), errors="coerce"), dtype=np.float64)
    return np.asarray(column, dtype=np.float64)


def _refuse_return(travel: Floats, rows: NDArray[np.intp], *, jitter: float) -> None:
    behind = np.maximum.accumulate(travel) - travel
    slack = 2 * np.spacing(np.abs(travel).max())  # 1.00 to 0.95 is a step of 0.05, whatever binary makes of it
    far = np.flatnonzero(behind > jitter + slack)
    if far.size:
        raise ValueError(
            f"displacement_mm must not fall back by more than jitter_mm = {jitter:g}; "
            f"got {float(behind[far[0]]):.6g} mm back at row {rows[far[0]] + 1}."
        )


def _in_order(displacement_mm: ArrayLike, force_n: ArrayLike) -> tuple[Floats, Floats, Floats]:
    """Travel, force, and the step of travel to the next reading, none of them backward."""
    travel = checked.array(displacement_mm, name="displacement_mm", at_least=3)
    force = checked.array(force_n, name="force_n", at_least=3)
    checked.same_length(travel, force, names=("displacement_mm", "force_n"))
    steps = travel[1:] - travel[:-1]
    if steps[steps.argmin()] < 0:
        row = int((steps < 0).argmax()) + 2
        raise ValueError(f"displacement_mm must never fall; it falls at row {row}. Put the trace in order first.")
    return travel, force, steps


def _share(value: float, *, name: str) -> float:
    share = checked.positive(value, name=name)
    if share > 1:
        raise ValueError(f"{name} must be at most 1; got {value!r}.")
    return share


def _peel(travel: Floats, force: Floats, *, threshold: float, first: int, last: int) -> _Cut:
    start = _between(force, travel, threshold, max(first - 1, 0), first)
    end = _between(force, travel, threshold, min(last + 1, force.size - 1), last)
    if not end > start:
        raise ValueError("displacement_mm must grow while force_n is above the threshold; the peel span has no length.")
    at_low = threshold if first > 0 else force.item(0)
    at_high = threshold if last < force.size - 1 else force.item(last)
    return _Cut(Interval(start, end), first=first, last=last, at_low=at_low, at_high=at_high)


def _between(x: Floats, y: Floats, place: float, one: int, other: int) -> float:
    """y at ``place`` on the line through two neighbouring readings; at either end of a trace both are the same."""
    if one == other:
        return y.item(one)
    share = (place - x.item(one)) / (x.item(other) - x.item(one))
    return y.item(one) + share * (y.item(other) - y.item(one))


def _central(span: Interval, fraction: float) -> Interval:
    cut = (1 - fraction) / 2 * (span.high - span.low)
    central = Interval(span.low + cut, span.high - cut)
    if not central.high > central.low:
        raise ValueError(f"span_fraction must leave a length to analyse; got {fraction!r}.")
    return central


def _cut(travel: Floats, force: Floats, span: Interval) -> _Cut:
    first = int(travel.searchsorted(span.low))
    last = int(travel.searchsorted(span.high, side="right")) - 1
    at_low = _between(travel, force, span.low, max(first - 1, 0), first)
    at_high = _between(travel, force, span.high, last, min(last + 1, travel.size - 1))
    return _Cut(span, first=first, last=last, at_low=at_low, at_high=at_high)


def _extremes(force: Floats, cut: _Cut) -> Interval:
    within = force[cut.first : cut.last + 1]
    if not within.size:
        return Interval(min(cut.at_low, cut.at_high), max(cut.at_low, cut.at_high))
    least, most = within.item(within.argmin()), within.item(within.argmax())
    return Interval(min(least, cut.at_low, cut.at_high), max(most, cut.at_low, cut.at_high))


def _area(travel: Floats, force: Floats, steps: Floats, sides: Floats, cut: _Cut) -> float:
    first, last = cut.first, cut.last
    # Where no reading lies within, first is last + 1, and the two ends overlap by the one step between them.
    inner = steps[first:last].dot(sides[first:last]) if first <= last else -steps[last] * sides[last]
    before = (travel.item(first) - cut.span.low) * (cut.at_low + force.item(first))
    after = (cut.span.high - travel.item(last)) * (force.item(last) + cut.at_high)
    return (before + float(inner) + after) / 2


def _noise(quiet: Floats) -> float | None:
    n = quiet.size
    if n < QUIET_READINGS:
        return None
    place = np.arange((1 - n) / 2, n / 2)
    deviation = quiet - quiet.sum() / n
    residual = deviation - place * (place.dot(deviation) / (n * (n * n - 1) / 12))
    return math.sqrt(residual.dot(residual) / (n - 2))


def _slope(x: Floats, y: Floats) -> float:
    deviation = x - x.mean()
    return float(deviation @ (y - y.mean()) / (deviation @ deviation))
