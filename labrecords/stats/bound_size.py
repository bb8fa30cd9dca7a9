"""Sizes that a tolerance bound and a standard deviation need, beside those in `sample_size`."""

from dataclasses import dataclass

import numpy as np
from scipy import special

from labrecords.stats import checked, factors, noncentral
from labrecords.stats.sizes import SizeForPower, fewest, fewest_for_power


@dataclass(frozen=True)
class SizeForSd:
    """Degrees of freedom for a standard deviation.

    Attributes
    ----------
    df : int
        Degrees of freedom.
    ratio_achieved : float
        Upper confidence bound of the standard deviation over the value found, with that many.
    """

    df: int
    ratio_achieved: float


def for_bound(*, distance: float, sd: float, coverage: float, confidence: float, chance: float) -> SizeForPower:
    """Return how many specimens let a one-sided tolerance bound clear a limit with a given chance.

    Parameters
    ----------
    distance : float
        From the limit to the expected mean, towards the safe side, above 0.
    sd : float
        Expected standard deviation, above 0, in the same unit.
    coverage, confidence : float
        Of the bound: coverage from 0.5 up to below 1, confidence between 0 and 1.
    chance : float
        That the bound clears the limit, if mean and standard deviation are as expected, between 0 and 1.

    Returns
    -------
    SizeForPower
        The smallest n of at least 2, and the chance with it.

    Raises
    ------
    ValueError
        If an argument is out of range, or distance over sd does not exceed the normal quantile of the coverage: fewer
        than the stated share then lie beyond the limit, and no number of specimens shows otherwise.

    Notes
    -----
    With mean m and standard deviation s of n values the bound m - k s clears the limit where sqrt(n) (m - limit) / s,
    a non-central t, exceeds k sqrt(n). Assumes one normal distribution of independent values.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3, factors based on the non-central t.
    .. [2] Faulkenberry and Weeks (1968), Sample size determination for tolerance limits, Technometrics 10, the idea,
       from memory.

    Examples
    --------
    >>> found = for_bound(distance=0.3, sd=0.1, coverage=0.95, confidence=0.95, chance=0.9)
    >>> found.n, round(found.power_achieved, 3)
    (19, 0.904)
    """
    distance, sd = checked.positive(distance, name="distance"), checked.positive(sd, name="sd")
    coverage, confidence = checked.fraction(coverage, name="coverage"), checked.fraction(confidence, name="confidence")
    chance = checked.fraction(chance, name="chance")
    away, quantile = distance / sd, float(special.ndtri(coverage))
    if coverage < 0.5:
        raise ValueError(f"coverage must be 0.5 or more; got {coverage!r}.")
    if away <= quantile:
        raise ValueError(
            f"distance over sd must be above {quantile:.6g}, the quantile of the coverage; got {away:.6g}."
        )

    def achieved(n: int) -> float:
        root = float(np.sqrt(n))
        return noncentral.above(factors.one_sided(n, float(n - 1), coverage, confidence) * root, n - 1, away * root)

    return fewest_for_power(achieved, chance, lacking="distance over sd must be larger")


def for_sd(*, ratio: float, confidence: float) -> SizeForSd:
    """Return the degrees of freedom that keep a standard deviation's upper confidence bound within a ratio of it.

    Parameters
    ----------
    ratio : float
        Of the upper bound to the value found, above 1: 1.3 means that the true one is at most 30 % larger.
    confidence : float
        Of the one-sided bound, from 0.5 up to below 1.

    Returns
    -------
    SizeForSd

    Raises
    ------
    ValueError
        If an argument is out of range.

    Notes
    -----
    The repeatability of a study of p technicians with r strips each of q lots has p q (r - 1) degrees of freedom.
    Assumes normal values.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.8 (chi-squared limits of a standard deviation).

    Examples
    --------
    >>> for_sd(ratio=1.3, confidence=0.95).df
    27
    """
    ratio, confidence = checked.finite(ratio, name="ratio"), checked.fraction(confidence, name="confidence")
    if ratio <= 1:
        raise ValueError(f"ratio must be above 1; got {ratio!r}.")
    if confidence < 0.5:
        raise ValueError(f"confidence must be 0.5 or more; got {confidence!r}.")

    def reached(df: int) -> float:
        return float(np.sqrt(df / special.chdtri(df, confidence)))

    df = fewest(lambda df: reached(df) <= ratio, at_least=1, lacking="ratio must be larger")
    return SizeForSd(df, reached(df))
