"""Two groups: difference of means, ratio of variances, and ranks."""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats

from labrecords.stats import checked, tails
from labrecords.stats.exact import Exact, exact, pooled, quotient, root, varies
from labrecords.stats.interval import Interval

EXACT_PAIRS = 2500  # pairs of values up to which the ranks' exact distribution is used


@dataclass(frozen=True)
class MeanDifference:
    """Difference of two means.

    Attributes
    ----------
    difference : float
        Mean of a less mean of b, in the unit of the values.
    standard_error : float
        Of the difference.
    statistic : float
        t, the difference over its standard error.
    df : float
        Degrees of freedom; not whole where the spreads are not taken as equal.
    p_value : float
        Two-sided.
    interval : Interval
        Two-sided confidence interval of the difference.
    confidence : float
        Of the interval.
    """

    difference: float
    standard_error: float
    statistic: float
    df: float
    p_value: float
    interval: Interval
    confidence: float


@dataclass(frozen=True)
class VarianceRatio:
    """Ratio of two variances.

    Attributes
    ----------
    ratio : float
        Variance of a over variance of b.
    df : tuple of int
        Degrees of freedom of a and of b.
    p_value : float
        Two-sided: twice the smaller tail.
    interval : Interval
        Two-sided confidence interval of the ratio.
    confidence : float
        Of the interval.
    """

    ratio: float
    df: tuple[int, int]
    p_value: float
    interval: Interval
    confidence: float

    @property
    def statistic(self) -> float:
        """F, which is the ratio."""
        return self.ratio


@dataclass(frozen=True)
class RankSum:
    """Wilcoxon, Mann and Whitney's test.

    Attributes
    ----------
    statistic : float
        U of a: pairs in which the value of a is the larger, ties counting one half.
    superiority : float
        U over the number of pairs: the chance that a value of a exceeds one of b.
    p_value : float
        Two-sided.
    method : str
        ``"exact"``, or ``"normal"``: approximated, with corrections for ties and continuity.
    n_a, n_b : int
        Numbers of values.
    """

    statistic: float
    superiority: float
    p_value: float
    method: str
    n_a: int
    n_b: int


@dataclass(frozen=True)
class Contrast:
    """Difference of two means, its standard error and degrees of freedom, before any test."""

    difference: Fraction
    standard_error: float
    df: float

    @property
    def statistic(self) -> float:
        """The difference over its standard error."""
        return float(self.difference) / self.standard_error


def welch(a: ArrayLike, b: ArrayLike, *, confidence: float = 0.95) -> MeanDifference:
    """Compare two means without taking the spreads as equal.

    Parameters
    ----------
    a, b : array_like, one-dimensional, at least 2 values each
        Independent results in one unit; not both without spread.
    confidence : float
        Of the interval, between 0 and 1.

    Returns
    -------
    MeanDifference

    Raises
    ------
    ValueError
        If a group has fewer than 2 values, a value is not a finite number, both groups are without spread,
        or the confidence is outside (0, 1).

    Notes
    -----
    For independent values of two roughly normal distributions. A p value above 0.05 does not show that the
    means are equal: use ``equivalence`` for that. Specimens cut from the same packages in both groups, or
    measured before and after, are pairs, not two groups.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.3 (unequal variances).
    .. [2] Welch (1947), The generalization of "Student's" problem when several different population
       variances are involved, Biometrika 34, from memory.

    Examples
    --------
    >>> found = welch([1.42, 1.51, 1.38, 1.47, 1.55], [1.31, 1.36, 1.33, 1.40])
    >>> round(found.difference, 3), round(found.df, 2), round(found.p_value, 4)
    (0.116, 6.51, 0.0165)
    """
    confidence = checked.fraction(confidence, name="confidence")
    found = contrast(*two(a, b), equal_spread=False)
    half = tails.t_quantile((1 - confidence) / 2, found.df) * found.standard_error
    difference = float(found.difference)
    return MeanDifference(
        difference=difference,
        standard_error=found.standard_error,
        statistic=found.statistic,
        df=found.df,
        p_value=tails.t_both(found.statistic, found.df),
        interval=Interval(difference - half, difference + half),
        confidence=confidence,
    )


def variance_ratio(a: ArrayLike, b: ArrayLike, *, confidence: float = 0.95) -> VarianceRatio:
    """Compare two variances by their ratio.

    Parameters
    ----------
    a, b : array_like, one-dimensional, at least 2 values each, not all equal
        Independent results in one unit.
    confidence : float
        Of the interval, between 0 and 1.

    Returns
    -------
    VarianceRatio

    Raises
    ------
    ValueError
        If a group has fewer than 2 values or only equal ones, a value is not a finite number, or the
        confidence is outside (0, 1); also if the variances are 1e200 apart.

    Notes
    -----
    Exact for normal values, and misleading for others however many they are: a few odd values look like a
    difference of spreads. ``brown_forsythe`` is the safer test.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.9.

    Examples
    --------
    >>> found = variance_ratio([1.42, 1.51, 1.38, 1.47, 1.55], [1.31, 1.36, 1.33, 1.40])
    >>> round(found.ratio, 3), round(found.p_value, 3)
    (3.02, 0.391)
    """
    confidence = checked.fraction(confidence, name="confidence")
    first, second = (exact(checked.spread(values, name=name, at_least=2)) for name, values in (("a", a), ("b", b)))
    ratio = quotient(first.variance, second.variance)
    df, tail = (first.n - 1, second.n - 1), (1 - confidence) / 2
    return VarianceRatio(
        ratio=ratio,
        df=df,
        p_value=min(1.0, 2 * min(tails.f_upper(ratio, df), tails.f_lower(ratio, df))),
        interval=Interval(ratio / tails.f_quantile(tail, df), ratio * tails.f_quantile(tail, df[::-1])),
        confidence=confidence,
    )


def rank_sum(a: ArrayLike, b: ArrayLike) -> RankSum:
    """Compare two groups by ranks, whatever their distributions.

    Parameters
    ----------
    a, b : array_like, one-dimensional, at least 2 values each
        Independent results in one unit; not all the same number.

    Returns
    -------
    RankSum
        Exact where no two values are equal and there are at most 2500 pairs (50 beside 50).

    Raises
    ------
    ValueError
        If a group has fewer than 2 values, a value is not a finite number, or all values are equal.

    Notes
    -----
    A small p value says that one group tends to be stronger; only if both distributions have the same shape
    does it speak of medians. Two and two values can never give less than 0.33.

    References
    ----------
    .. [1] Mann and Whitney (1947), On a test of whether one of two random variables is stochastically larger
       than the other, Annals of Mathematical Statistics 18, from memory; computed by scipy.stats.mannwhitneyu.

    Examples
    --------
    >>> found = rank_sum([1.42, 1.51, 1.38, 1.47, 1.55], [1.31, 1.36, 1.33, 1.40])
    >>> found.statistic, found.superiority, round(found.p_value, 4), found.method
    (19.0, 0.95, 0.0317, 'exact')
    """
    first, second = (checked.array(values, name=name, at_least=2) for name, values in (("a", a), ("b", b)))
    together = np.concatenate([first, second])
    distinct = np.unique(together).size
    if distinct == 1:
        raise ValueError(f"a and b must not hold one number only; got {together.size} times {float(together[0])!r}.")
    pairs = first.size * second.size
    small = pairs <= EXACT_PAIRS and distinct == together.size
    statistic, p_value = stats.mannwhitneyu(first, second, method="exact" if small else "asymptotic")
    return RankSum(
        statistic=float(statistic),
        superiority=float(statistic) / pairs,
        p_value=float(p_value),
        method="exact" if small else "normal",
        n_a=first.size,
        n_b=second.size,
    )


def two(a: ArrayLike, b: ArrayLike) -> tuple[Exact, Exact]:
    """Return two checked groups of at least 2 values."""
    return exact(checked.array(a, name="a", at_least=2)), exact(checked.array(b, name="b", at_least=2))


def contrast(a: Exact, b: Exact, *, equal_spread: bool) -> Contrast:
    """Return the difference of two means with its standard error, from the pooled or from both variances."""
    if equal_spread:
        variance, whole = pooled([a, b])
        error, df = variance * (Fraction(1, a.n) + Fraction(1, b.n)), float(whole)
    else:
        error, df = _welch_error(a.variance / a.n, b.variance / b.n, (a.n - 1, b.n - 1))
    return Contrast(difference=a.mean - b.mean, standard_error=root(error), df=df)


def _welch_error(a: Fraction, b: Fraction, df: tuple[int, int]) -> tuple[Fraction, float]:
    if not varies(a + b):
        raise ValueError("a and b must not each hold equal values; got no spread in either.")
    return a + b, float((a + b) ** 2 / (a * a / df[0] + b * b / df[1]))
