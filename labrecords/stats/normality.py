"""Tests of the normal distribution."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import special, stats

from labrecords.stats import checked
from labrecords.stats.moments import moments


@dataclass(frozen=True)
class Normality:
    """Answer of a test of normality.

    Attributes
    ----------
    statistic : float
        A squared, or W.
    adjusted : float or None
        A squared adjusted for n (Anderson-Darling only).
    p_value : float
        Small where the values do not look normal.
    n : int
        Number of values.
    """

    statistic: float
    adjusted: float | None
    p_value: float
    n: int


def anderson_darling(values: ArrayLike) -> Normality:
    """Test normality by Anderson and Darling's A squared, mean and standard deviation estimated.

    Parameters
    ----------
    values : array_like, one-dimensional, at least 8 values
        Independent results, not all equal.

    Returns
    -------
    Normality

    Raises
    ------
    ValueError
        If there are fewer than 8 values (the p value was fitted for 8 and more), one is not a finite
        number, or all are equal.

    Notes
    -----
    Few values pass whatever their shape; many rounded values fail for their rounding. Normal is not
    independent: a drift passes. The formula of p turns back far out, so an adjusted statistic above 10 is
    given the p of 10, 4e-24.

    References
    ----------
    .. [1] D'Agostino and Stephens (1986), Goodness-of-Fit Techniques, table 4.7 (adjustment) and table 4.9
       (p value).
    .. [2] NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.14.

    Examples
    --------
    >>> found = anderson_darling([1.42, 1.51, 1.38, 1.47, 1.55, 1.44, 1.49, 1.46])
    >>> round(found.statistic, 4), round(found.adjusted, 4), round(found.p_value, 3)
    (0.1002, 0.1132, 0.992)
    """
    data = np.sort(checked.spread(values, at_least=8))
    found = moments(data)
    scaled = (data - found.mean) / found.sd
    odd = np.arange(1, 2 * found.n, 2)
    tails = special.log_ndtr(scaled) + special.log_ndtr(-scaled[::-1])
    statistic = float(-found.n - odd @ tails / found.n)
    adjusted = statistic * (1 + 0.75 / found.n + 2.25 / found.n**2)
    return Normality(statistic=statistic, adjusted=adjusted, p_value=_p_value(adjusted), n=found.n)


def shapiro_wilk(values: ArrayLike) -> Normality:
    """Test normality by Shapiro and Wilk's W, in Royston's approximation.

    Parameters
    ----------
    values : array_like, one-dimensional, 3 to 5000 values
        Independent results, not all equal.

    Returns
    -------
    Normality
        ``adjusted`` is None.

    Raises
    ------
    ValueError
        If there are fewer than 3 or more than 5000 values, one is not a finite number, or all are equal.

    Notes
    -----
    As for ``anderson_darling``: few values pass, ties and rounding fail, dependence is not seen.

    References
    ----------
    .. [1] Royston (1995), Remark AS R94, Applied Statistics 44(4); computed by scipy.stats.shapiro.

    Examples
    --------
    >>> found = shapiro_wilk([1.42, 1.51, 1.38, 1.47, 1.55, 1.44, 1.49, 1.46])
    >>> round(found.statistic, 4), round(found.p_value, 3)
    (0.9991, 1.0)
    """
    data = checked.spread(values, at_least=3)
    if data.size > 5000:
        raise ValueError(f"values must hold at most 5000 numbers for this test; got {data.size}.")
    statistic, p_value = stats.shapiro(data)
    return Normality(statistic=float(statistic), adjusted=None, p_value=float(p_value), n=data.size)


def _p_value(adjusted: float) -> float:
    a = min(adjusted, 10.0)
    if a >= 0.6:
        return float(np.exp(1.2937 - 5.709 * a + 0.0186 * a * a))
    if a >= 0.34:
        return float(np.exp(0.9177 - 4.279 * a - 1.38 * a * a))
    if a >= 0.2:
        return float(-np.expm1(-8.318 + 42.796 * a - 59.938 * a * a))
    return float(-np.expm1(-13.436 + 101.14 * a - 223.73 * a * a))
