"""Capability and performance indices, with what a sample of that size can claim about them."""

from collections.abc import Hashable, Sequence

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from labrecords.stats import checked, noncentral
from labrecords.stats.capability_results import CapabilityIntervals, OneSidedCapability, TwoSidedCapability
from labrecords.stats.checked import Floats
from labrecords.stats.interval import Interval
from labrecords.stats.moments import Moments, moments

LEAST_CONFIDENCE = 1e-20  # the quadrature leaves out tails of 1e-27


def lower(values: ArrayLike, *, limit: float, confidence: float = 0.95) -> OneSidedCapability:
    """Return the performance against a minimum: Ppl, its bound, and the share below the minimum.

    Parameters
    ----------
    values : array_like, one-dimensional, at least 2 values
        Independent results of one population, not all equal.
    limit : float
        The minimum, in the unit of the values.
    confidence : float
        Of each of the two bounds, from 1e-20 up to below 1.

    Returns
    -------
    OneSidedCapability

    Raises
    ------
    ValueError
        If there are fewer than 2 values, one is not a finite number, all are equal, the confidence is out of
        range, or the limit is more than 1e100 standard deviations away.

    Notes
    -----
    For independent values of one normal distribution. The shares rest on the shape of the tail, which a few dozen
    values cannot show; an index of several lots or of a drifting process predicts nothing. Compare the lower bound,
    not the index, with what is required.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 6.1.6 (indices) and 7.2.6.3 (non-central t).
    .. [2] Owen (1968), A survey of properties and applications of the noncentral t-distribution, Technometrics
       10(3), from memory.

    Examples
    --------
    >>> found = lower([1.42, 1.51, 1.38, 1.47, 1.55], limit=1.2)
    >>> round(found.index, 3), round(found.index_lower_bound, 3)
    (1.303, 0.504)
    >>> round(found.fraction_outside, 6), round(found.fraction_outside_upper_bound, 3)
    (4.6e-05, 0.065)
    """
    return _one_sided(values, limit=limit, confidence=confidence, safe=1)


def upper(values: ArrayLike, *, limit: float, confidence: float = 0.95) -> OneSidedCapability:
    """Return the performance against a maximum: Ppu, its bound, and the share above the maximum.

    Parameters, result, errors and cautions as ``lower``.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 6.1.6.

    Examples
    --------
    >>> round(upper([1.42, 1.51, 1.38, 1.47, 1.55], limit=1.7).index, 3)
    1.146
    """
    return _one_sided(values, limit=limit, confidence=confidence, safe=-1)


def two_sided(
    values: ArrayLike,
    *,
    low: float,
    high: float,
    confidence: float = 0.95,
    subgroups: Sequence[Hashable] | None = None,
) -> TwoSidedCapability:
    """Return Pp and Ppk between two limits, and Cp and Cpk where subgroups are given.

    Parameters
    ----------
    values : array_like, one-dimensional, at least 2 values
        Independent results, not all equal.
    low, high : float
        Limits in the unit of the values, low below high.
    confidence : float
        Of each two-sided interval, between 0 and 1.
    subgroups : sequence, optional
        One label for each value: equal labels, one subgroup.

    Returns
    -------
    TwoSidedCapability

    Raises
    ------
    ValueError
        If there are fewer than 2 values, one is not a finite number, all are equal, an argument is out of range, there
        is not one label for each value, or no subgroup holds two different values.

    Notes
    -----
    Pp and Ppk use the standard deviation of all values; Cp and Cpk the one pooled within subgroups, whose intervals
    use its own degrees of freedom. Cp and Cpk say what the process could do if the subgroups did not differ; where
    Cpk is clearly above Ppk, they do. All four assume normal values. The intervals of Ppk and Cpk are
    approximate, and too narrow for a few values: below about 30 ``lower`` and ``upper`` are exact.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 6.1.6.
    .. [2] Bissell (1990), How reliable is your capability index?, Applied Statistics 39(3), from memory.

    Examples
    --------
    >>> found = two_sided([1.42, 1.51, 1.38, 1.47, 1.55], low=1.2, high=1.8, subgroups="aabbb")
    >>> round(found.pp, 3), round(found.ppk, 3), round(found.cp, 3), found.df_within
    (1.47, 1.303, 1.273, 3)
    >>> [round(limit, 3) for limit in found.intervals.pp]
    [0.511, 2.453]
    """
    data = checked.spread(values)
    low, high = checked.finite(low, name="low"), checked.finite(high, name="high")
    confidence = checked.fraction(confidence, name="confidence")
    if low >= high:
        raise ValueError(f"low must be below high, {high!r}; got {low!r}.")
    found = moments(np.sort(data))  # sorted once: the order of the values changes nothing
    nearest = min(high - found.mean, found.mean - low)
    pp, ppk = _ratio(high - low, found.sd) / 6, _ratio(nearest, found.sd) / 3
    sd_within, df_within = _within(data, subgroups) if subgroups is not None else (None, None)
    cp = cpk = cp_range = cpk_range = None
    if sd_within is not None and df_within is not None:
        cp, cpk = _ratio(high - low, sd_within) / 6, _ratio(nearest, sd_within) / 3
        cp_range = pp_interval(cp, df_within, confidence=confidence)
        cpk_range = ppk_interval(cpk, found.n, df=df_within, confidence=confidence)
    return TwoSidedCapability(
        pp=pp,
        ppk=ppk,
        cp=cp,
        cpk=cpk,
        intervals=CapabilityIntervals(
            pp=pp_interval(pp, found.n - 1, confidence=confidence),
            ppk=ppk_interval(ppk, found.n, confidence=confidence),
            cp=cp_range,
            cpk=cpk_range,
        ),
        mean=found.mean,
        sd=found.sd,
        n=found.n,
        sd_within=sd_within,
        df_within=df_within,
        low=low,
        high=high,
        confidence=confidence,
    )


def lower_index_bound(index: float, n: int, *, confidence: float) -> float:
    """Return the exact lower confidence bound of a one-sided index (Ppl, Ppu) found in ``n`` values.

    Parameters
    ----------
    index : float
        As found, with the standard deviation of n - 1 degrees of freedom; at most 1e100 in size.
    n : int
        Number of values, at least 2.
    confidence : float
        Of the one-sided bound, from 1e-20 up to below 1.

    Returns
    -------
    float
        The c at which a non-central t of n - 1 degrees of freedom and noncentrality 3 c sqrt(n) stays below
        3 index sqrt(n) with probability ``confidence``.

    Raises
    ------
    ValueError
        If an argument is out of range.

    Notes
    -----
    For independent normal values. Of a two-sided Ppk it is only an approximation: the other limit is left out.

    References
    ----------
    .. [1] Owen (1968), A survey of properties and applications of the noncentral t-distribution, Technometrics
       10(3), from memory.

    Examples
    --------
    >>> round(lower_index_bound(2 / 3, 50, confidence=0.95), 4)
    0.5296
    """
    index, n = checked.finite(index, name="index"), checked.count(n, name="n", at_least=2)
    confidence = checked.fraction(confidence, name="confidence")
    if confidence < LEAST_CONFIDENCE:
        raise ValueError(f"confidence must be {LEAST_CONFIDENCE:g} or more; got {confidence!r}.")
    if abs(index) > checked.LARGEST:
        raise ValueError(f"index must be at most {checked.LARGEST:g} in size; got {index!r}.")
    root = 3 * float(np.sqrt(n))
    return noncentral.shift_at(index * root, n - 1, confidence) / root


def pp_interval(pp: float, df: float, *, confidence: float) -> Interval:
    """Return the two-sided confidence interval of Pp or Cp, by chi-squared.

    Parameters
    ----------
    pp : float
        As found, above 0.
    df : float
        Degrees of freedom of the standard deviation behind it, at least 1.
    confidence : float
        Between 0 and 1.

    Returns
    -------
    Interval
        Exact for independent normal values.

    Raises
    ------
    ValueError
        If an argument is out of range.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 6.1.6.

    Examples
    --------
    >>> [round(limit, 4) for limit in pp_interval(1.0, 49, confidence=0.95)]
    [0.8025, 1.1971]
    """
    pp, df = checked.positive(pp, name="pp"), checked.at_least(df, 1, name="df")
    tail = (1 - checked.fraction(confidence, name="confidence")) / 2
    # half of chi-squared is a gamma variable; each limit from the tail that has its digits
    low, high = special.gammaincinv(df / 2, tail), special.gammainccinv(df / 2, tail)
    return Interval(pp * float(np.sqrt(2 * low / df)), pp * float(np.sqrt(2 * high / df)))


def ppk_interval(ppk: float, n: int, *, confidence: float, df: float | None = None) -> Interval:
    """Return the two-sided confidence interval of Ppk or Cpk, by a normal approximation.

    Parameters
    ----------
    ppk : float
        As found.
    n : int
        Number of values behind the mean, at least 2.
    confidence : float
        Between 0 and 1.
    df : float, optional
        Degrees of freedom of the standard deviation, at least 1; n - 1 if left out.

    Returns
    -------
    Interval
        ppk -+ z sqrt(1 / (9 n) + ppk**2 / (2 df)).

    Raises
    ------
    ValueError
        If an argument is out of range.

    Notes
    -----
    Approximate: the real confidence comes close to the stated one for about 30 values and more. The lower limit at
    confidence 1 - 2 a is the one-sided bound at 1 - a.

    References
    ----------
    .. [1] Bissell (1990), How reliable is your capability index?, Applied Statistics 39(3), from memory.

    Examples
    --------
    >>> [round(limit, 4) for limit in ppk_interval(1.33, 20, confidence=0.95)]
    [0.8826, 1.7774]
    """
    ppk, n = checked.finite(ppk, name="ppk"), checked.count(n, name="n", at_least=2)
    df = float(n - 1) if df is None else checked.at_least(df, 1, name="df")
    z = -special.ndtri((1 - checked.fraction(confidence, name="confidence")) / 2)
    half = float(z * np.hypot(1 / (3 * np.sqrt(n)), ppk / np.sqrt(2 * df)))
    return Interval(ppk - half, ppk + half)


def _one_sided(values: ArrayLike, *, limit: float, confidence: float, safe: int) -> OneSidedCapability:
    found = moments(np.sort(checked.spread(values)))
    limit, confidence = checked.finite(limit, name="limit"), checked.fraction(confidence, name="confidence")
    index = _ratio(safe * (found.mean - limit), found.sd) / 3
    bound = lower_index_bound(index, found.n, confidence=confidence)
    return OneSidedCapability(
        index=index,
        index_lower_bound=bound,
        fraction_outside=float(special.ndtr(-3 * index)),
        fraction_outside_upper_bound=float(special.ndtr(-3 * bound)),
        mean=found.mean,
        sd=found.sd,
        n=found.n,
        limit=limit,
        confidence=confidence,
    )


def _ratio(distance: float, spread: float) -> float:
    """A distance over a spread that is above 0, kept within what can be computed with."""
    if abs(distance) > checked.LARGEST * spread:
        raise ValueError(
            f"limits must lie within {checked.LARGEST:g} standard deviations of the mean; "
            f"got {distance:g} at a standard deviation of {spread:g}."
        )
    return distance / spread


def _within(data: Floats, subgroups: Sequence[Hashable]) -> tuple[float, int]:
    """Standard deviation pooled within subgroups, and its degrees of freedom."""
    groups = _grouped(data, subgroups)
    df = sum(group.n - 1 for group in groups)
    sd = float(np.sqrt(sum((group.n - 1) * group.sd**2 for group in groups) / df)) if df else 0.0
    if sd == 0:
        raise ValueError(f"subgroups must hold different values in at least one; got {len(groups)} without any spread.")
    return sd, df


def _grouped(data: Floats, subgroups: Sequence[Hashable]) -> list[Moments]:
    labels = list(subgroups)
    if len(labels) != data.size:
        raise ValueError(f"subgroups must be one label for each of {data.size} values; got {len(labels)}.")
    held: dict[Hashable, list[float]] = {}
    for label, value in zip(labels, data.tolist(), strict=True):
        held.setdefault(label, []).append(value)
    return [_moments(np.sort(np.array(group))) for group in held.values()]


def _moments(group: Floats) -> Moments:
    return moments(group) if group.size > 1 else Moments(n=1, mean=float(group[0]), sd=0.0)
