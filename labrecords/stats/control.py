"""Control charts: limits from the process itself, and the points that say it has changed."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

import numpy as np
from numpy.typing import ArrayLike

from labrecords.stats import checked
from labrecords.stats.chart_constants import ChartConstants, c4, constants
from labrecords.stats.checked import Floats
from labrecords.stats.moments import moments
from labrecords.stats.run_rules import RUN_LENGTH, Flags, Signals, run_rules

__all__ = [
    "ChartConstants",
    "EwmaChart",
    "IndividualsChart",
    "MeanAndSdChart",
    "Signals",
    "constants",
    "ewma",
    "individuals",
    "mean_and_sd",
    "run_rules",
]


@dataclass(frozen=True)
class IndividualsChart:
    """Chart of single values, and of the ranges from each to the next.

    Attributes
    ----------
    centre, lower, upper : float
        Mean of the values, and the limits three sigma from it.
    mr_bar : float
        Mean of the moving ranges of two.
    sigma : float
        mr_bar over d2 of two values.
    moving_ranges : tuple of float
        Distance of each value from the one before; one fewer than the values.
    mr_upper : float
        Upper limit of the moving ranges, D4 mr_bar; their lower limit is 0.
    signals : Signals
        Points of the chart of values that break a rule.
    mr_signals : tuple of int
        Places in ``moving_ranges``, counted from 0, beyond their limit.
    """

    centre: float
    lower: float
    upper: float
    mr_bar: float
    sigma: float
    moving_ranges: tuple[float, ...]
    mr_upper: float
    signals: Signals
    mr_signals: tuple[int, ...]


@dataclass(frozen=True)
class MeanAndSdChart:
    """Chart of subgroup means (X-bar), and of their standard deviations (s).

    Attributes
    ----------
    centre, lower, upper : float
        Mean of the means, and their limits, A3 sd_centre from it.
    sd_centre, sd_lower, sd_upper : float
        Mean of the standard deviations, and their limits, B3 and B4 times it.
    sigma : float
        Standard deviation within subgroups: sd_centre over c4.
    means, sds : tuple of float
        Of each subgroup.
    signals : Signals
        Subgroups of the chart of means that break a rule.
    sd_signals : tuple of int
        Places of subgroups, counted from 0, whose standard deviation is beyond its limits.
    """

    centre: float
    lower: float
    upper: float
    sd_centre: float
    sd_lower: float
    sd_upper: float
    sigma: float
    means: tuple[float, ...]
    sds: tuple[float, ...]
    signals: Signals
    sd_signals: tuple[int, ...]


@dataclass(frozen=True)
class EwmaChart:
    """Chart of exponentially weighted moving averages.

    Attributes
    ----------
    values : tuple of float
        The average after each value.
    lower, upper : tuple of float
        Limits of each: narrow at first, then wider.
    centre, steady_lower, steady_upper : float
        The mean, and what the limits come to.
    signals : tuple of int
        Places, counted from 0, of averages beyond their limits.
    """

    values: tuple[float, ...]
    lower: tuple[float, ...]
    upper: tuple[float, ...]
    centre: float
    steady_lower: float
    steady_upper: float
    signals: tuple[int, ...]


def individuals(values: ArrayLike, *, run_length: int = RUN_LENGTH) -> IndividualsChart:
    """Return the chart of single values, with limits from their moving ranges.

    Parameters
    ----------
    values : array_like, one-dimensional, at least 2 values
        In the order in which they were measured; not all equal.
    run_length : int
        How many in a row on one side of the centre line are a signal, at least 2.

    Returns
    -------
    IndividualsChart

    Raises
    ------
    ValueError
        If there are fewer than 2 values, one is not a finite number, all are equal, or the run length is too small.

    Notes
    -----
    Values that follow their predecessors (positive autocorrelation) make the ranges short and the limits too narrow;
    skewed values give false signals. Limits of fewer than about 20 values move much with every further one.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2.

    Examples
    --------
    >>> chart = individuals([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1])
    >>> round(chart.centre, 2), round(chart.mr_bar, 4), round(chart.lower, 2), round(chart.upper, 2)
    (50.81, 1.8778, 45.82, 55.8)
    """
    data = checked.spread(values)
    of_two = constants(2)
    ranges = np.abs(np.diff(data))
    mr_bar, centre = float(ranges.mean()), moments(data).mean
    sigma = mr_bar / of_two.d2
    mr_upper = of_two.D4 * mr_bar
    return IndividualsChart(
        centre=centre,
        lower=centre - 3 * sigma,
        upper=centre + 3 * sigma,
        mr_bar=mr_bar,
        sigma=sigma,
        moving_ranges=tuple(ranges.tolist()),
        mr_upper=mr_upper,
        signals=run_rules(data, centre=centre, sigma=sigma, run_length=run_length),
        mr_signals=_places(ranges > mr_upper),
    )


def mean_and_sd(subgroups: Sequence[ArrayLike], *, run_length: int = RUN_LENGTH) -> MeanAndSdChart:
    """Return the charts of subgroup means and standard deviations.

    Parameters
    ----------
    subgroups : sequence of array_like, at least 2 subgroups of at least 2 values
        Equally large, in the order in which they were measured.
    run_length : int
        How many means in a row on one side of the centre line are a signal, at least 2.

    Returns
    -------
    MeanAndSdChart

    Raises
    ------
    ValueError
        If there are fewer than 2 subgroups, they are not equally large, one holds fewer than 2 values or one that is
        not a finite number, none has any spread, or the run length is too small.

    Notes
    -----
    The limits of the means rest on the spread within subgroups alone. Where subgroups differ by nature (several
    strips of one pouch), nearly every mean is beyond them: chart the means as ``individuals``.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.1.

    Examples
    --------
    >>> chart = mean_and_sd([[1.4, 1.5, 1.6], [1.5, 1.4, 1.4], [1.6, 1.5, 1.7], [1.5, 1.5, 1.4]])
    >>> round(chart.centre, 4), round(chart.lower, 4), round(chart.upper, 4), round(chart.sd_upper, 4)
    (1.5, 1.3459, 1.6541, 0.2025)
    """
    groups = _equal_groups(subgroups)
    found = [moments(group) for group in groups]
    means, sds = np.array([each.mean for each in found]), np.array([each.sd for each in found])
    if sds.max() == 0:
        raise ValueError(f"subgroups must hold different values in at least one; got {len(groups)} without any spread.")
    n, centre, sd_centre = groups[0].size, moments(means).mean, float(sds.mean())
    sigma = sd_centre / c4(n)
    sd_error = 3 * sigma * float(np.sqrt((1 - c4(n)) * (1 + c4(n))))
    mean_error = sigma / float(np.sqrt(n))
    sd_lower, sd_upper = max(0.0, sd_centre - sd_error), sd_centre + sd_error
    return MeanAndSdChart(
        centre=centre,
        lower=centre - 3 * mean_error,
        upper=centre + 3 * mean_error,
        sd_centre=sd_centre,
        sd_lower=sd_lower,
        sd_upper=sd_upper,
        sigma=sigma,
        means=tuple(means.tolist()),
        sds=tuple(sds.tolist()),
        signals=run_rules(means, centre=centre, sigma=mean_error, run_length=run_length),
        sd_signals=_places((sds < sd_lower) | (sds > sd_upper)),
    )


def ewma(values: ArrayLike, *, weight: float, limit: float, mean: float, sigma: float) -> EwmaChart:
    """Return the chart of exponentially weighted moving averages, for small lasting shifts.

    Parameters
    ----------
    values : array_like, one-dimensional, at least 1 value
        In the order in which they were measured.
    weight : float
        Of the newest value, above 0 and at most 1 (1 charts the values themselves); usually 0.1 to 0.3.
    limit : float
        Distance of the limits from the mean, in standard deviations of the average, above 0; usually 3.
    mean, sigma : float
        Of the process in control, known from earlier data; sigma above 0.

    Returns
    -------
    EwmaChart

    Raises
    ------
    ValueError
        If a value is not a finite number or an argument is out of range.

    Notes
    -----
    The average starts at ``mean``. The limits of the i-th are mean -+ limit sigma
    sqrt(weight / (2 - weight) (1 - (1 - weight)**(2 i))). Assumes independent values; mean and sigma taken from the
    very values on the chart hide a shift.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4.
    .. [2] Lucas and Saccucci (1990), Exponentially weighted moving average control schemes, Technometrics 32(1),
       from memory.

    Examples
    --------
    >>> chart = ewma([52.0, 47.0, 53.0, 49.3], weight=0.3, limit=3, mean=50, sigma=2.0539)
    >>> [round(average, 2) for average in chart.values]
    [50.6, 49.52, 50.56, 50.18]
    >>> round(chart.upper[0], 4), round(chart.steady_upper, 4)
    (51.8485, 52.5884)
    """
    data = checked.array(values)
    weight, limit = checked.positive(weight, name="weight"), checked.positive(limit, name="limit")
    mean, sigma = checked.finite(mean, name="mean"), checked.positive(sigma, name="sigma")
    if weight > 1:
        raise ValueError(f"weight must be at most 1; got {weight!r}.")
    averages = np.array(list(accumulate(data.tolist(), lambda old, new: old + weight * (new - old), initial=mean))[1:])
    steady = limit * sigma * float(np.sqrt(weight / (2 - weight)))
    half = steady * np.sqrt(_settled(weight, data.size))
    return EwmaChart(
        values=tuple(averages.tolist()),
        lower=tuple((mean - half).tolist()),
        upper=tuple((mean + half).tolist()),
        centre=mean,
        steady_lower=mean - steady,
        steady_upper=mean + steady,
        signals=_places(np.abs(averages - mean) > half),
    )


def _settled(weight: float, n: int) -> Floats:
    """1 - (1 - weight)**(2 i) for i from 1 to n, with all digits where the weight is small."""
    if weight == 1:
        return np.ones(n)
    share: Floats = -np.expm1(2 * np.arange(1, n + 1) * np.log1p(-weight))
    return share


def _equal_groups(subgroups: Sequence[ArrayLike]) -> list[Floats]:
    groups = [checked.array(group, name="subgroups", at_least=2) for group in subgroups]
    if len(groups) < 2:
        raise ValueError(f"subgroups must be at least 2; got {len(groups)}.")
    sizes = sorted({group.size for group in groups})
    if len(sizes) > 1:
        raise ValueError(f"subgroups must be equally large; got {sizes[0]} to {sizes[-1]} values.")
    return groups


def _places(beyond: Flags) -> tuple[int, ...]:
    return tuple(np.flatnonzero(beyond).tolist())
