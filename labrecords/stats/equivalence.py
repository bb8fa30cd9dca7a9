"""Are two means equal enough? Two one-sided tests against limits set beforehand."""

import math
from dataclasses import dataclass
from fractions import Fraction

from numpy.typing import ArrayLike

from labrecords.stats import checked, tails
from labrecords.stats.exact import exact, pooled, root, varies
from labrecords.stats.interval import Interval
from labrecords.stats.two_groups import contrast, two


@dataclass(frozen=True)
class Equivalence:
    """Equivalence of two means by their difference.

    Attributes
    ----------
    difference : float
        Mean of a less mean of b, in the unit of the values.
    standard_error : float
        Of the difference.
    df : float
        Degrees of freedom; not whole where the spreads are not taken as equal.
    statistic_low, statistic_high : float
        t against the lower limit (large where the difference lies above it) and against the upper limit
        (far below 0 where it lies below).
    p_low, p_high : float
        One-sided: of a difference at or below the lower limit, at or above the upper limit.
    p_value : float
        The larger of the two.
    interval : Interval
        Two-sided, of confidence 1 - 2 alpha; within the limits if and only if p_value < alpha.
    equivalent : bool
        Whether the p value is at most alpha.
    low, high, alpha : float
        What was asked.
    """

    difference: float
    standard_error: float
    df: float
    statistic_low: float
    statistic_high: float
    p_low: float
    p_high: float
    p_value: float
    interval: Interval
    equivalent: bool
    low: float
    high: float
    alpha: float

    @property
    def statistic(self) -> float:
        """The one of the two that belongs to the p value."""
        return self.statistic_low if self.p_low >= self.p_high else self.statistic_high


@dataclass(frozen=True)
class RatioEquivalence:
    """Equivalence of two means by their ratio.

    Attributes
    ----------
    ratio : float
        Mean of a over mean of b.
    df : int
        Degrees of freedom of the pooled standard deviation.
    statistic_low, statistic_high : float
        t of mean a - low mean b, and of mean a - high mean b.
    p_low, p_high : float
        One-sided: of a ratio at or below the lower limit, at or above the upper limit.
    p_value : float
        The larger of the two.
    interval : Interval
        Fieller's, of confidence 1 - 2 alpha; within the limits if and only if p_value < alpha.
    equivalent : bool
        Whether the p value is at most alpha.
    low, high, alpha : float
        What was asked.
    """

    ratio: float
    df: int
    statistic_low: float
    statistic_high: float
    p_low: float
    p_high: float
    p_value: float
    interval: Interval
    equivalent: bool
    low: float
    high: float
    alpha: float

    @property
    def statistic(self) -> float:
        """The one of the two that belongs to the p value."""
        return self.statistic_low if self.p_low >= self.p_high else self.statistic_high


def equivalence(
    a: ArrayLike, b: ArrayLike, *, low: float, high: float, alpha: float = 0.05, equal_spread: bool = False
) -> Equivalence:
    """Test whether the difference of two means lies between two limits.

    Parameters
    ----------
    a, b : array_like, one-dimensional, at least 2 values each
        Independent results in one unit; not both without spread.
    low, high : float
        Limits of a difference, a less b, that does not matter, in the unit of the values; usually low is
        below 0 and high above it.
    alpha : float
        Risk of calling means equivalent that lie at a limit, between 0 and 0.5.
    equal_spread : bool
        Whether to pool the variances; if not, each group keeps its own (Welch).

    Returns
    -------
    Equivalence

    Raises
    ------
    ValueError
        If a group has fewer than 2 values, a value is not a finite number, both groups are without spread,
        low is not below high, or alpha is outside (0, 0.5).

    Notes
    -----
    The limits must be set before the results are known: limits that are drawn around them prove nothing.
    Not equivalent does not mean different; with few specimens it is the usual answer.

    References
    ----------
    .. [1] Schuirmann (1987), A comparison of the two one-sided tests procedure and the power approach,
       Journal of Pharmacokinetics and Biopharmaceutics 15, from memory.

    Examples
    --------
    >>> found = equivalence([1.42, 1.51, 1.38, 1.47, 1.55], [1.44, 1.46, 1.41, 1.50], low=-0.15, high=0.15)
    >>> found.equivalent, round(found.p_value, 4), [round(limit, 3) for limit in found.interval]
    (True, 0.0039, [-0.055, 0.082])
    """
    low, high, alpha = _question(low, high, alpha)
    found = contrast(*two(a, b), equal_spread=equal_spread)
    return _judged(found.difference, found.standard_error, found.df, low, high, alpha)


def paired_equivalence(a: ArrayLike, b: ArrayLike, *, low: float, high: float, alpha: float = 0.05) -> Equivalence:
    """Test whether the mean difference within pairs lies between two limits.

    Parameters
    ----------
    a, b : array_like, one-dimensional, at least 2 values each, as many in both
        Results in one unit, of which the first of a and the first of b belong together, and so on: such as two
        people's strips of one pack. Their differences do not all agree.
    low, high : float
        Limits of a difference, a less b, that does not matter, in the unit of the values.
    alpha : float
        Risk of calling means equivalent that lie at a limit, between 0 and 0.5.

    Returns
    -------
    Equivalence
        With one degree of freedom less than pairs.

    Raises
    ------
    ValueError
        If there are fewer than 2 pairs, a and b are of unequal length, a value is not a finite number, all
        differences are equal, low is not below high, or alpha is outside (0, 0.5).

    Notes
    -----
    What makes pairs differ from one another, such as the pack, drops out. Differences are taken as normal.

    References
    ----------
    .. [1] Schuirmann (1987), as above, for the paired design, from memory.

    Examples
    --------
    >>> found = paired_equivalence([1.42, 1.51, 1.38, 1.47], [1.44, 1.47, 1.39, 1.44], low=-0.1, high=0.1)
    >>> found.equivalent, round(found.difference, 4), [round(limit, 3) for limit in found.interval]
    (True, 0.01, [-0.025, 0.045])
    """
    low, high, alpha = _question(low, high, alpha)
    first, second = checked.array(a, name="a", at_least=2), checked.array(b, name="b", at_least=2)
    if first.size != second.size:
        raise ValueError(f"a and b must be pairs; got {first.size} and {second.size} values.")
    found = exact(first - second)
    if not varies(found.variance):
        raise ValueError("a and b must not differ by the same amount in every pair: there is no spread to judge by.")
    return _judged(found.mean, root(found.variance / found.n), found.n - 1, low, high, alpha)


def _judged(
    difference: Fraction, standard_error: float, df: float, low: float, high: float, alpha: float
) -> Equivalence:
    """Two one-sided tests of a difference with its standard error."""
    middle, half = float(difference), tails.t_quantile(alpha, df) * standard_error
    from_low, from_high = (float(difference - Fraction(limit)) / standard_error for limit in (low, high))
    p_low, p_high = tails.t_upper(from_low, df), tails.t_upper(-from_high, df)
    return Equivalence(
        difference=middle,
        standard_error=standard_error,
        df=df,
        statistic_low=from_low,
        statistic_high=from_high,
        p_low=p_low,
        p_high=p_high,
        p_value=max(p_low, p_high),
        interval=Interval(middle - half, middle + half),
        equivalent=max(p_low, p_high) <= alpha,
        low=low,
        high=high,
        alpha=alpha,
    )


def equivalence_ratio(a: ArrayLike, b: ArrayLike, *, low: float, high: float, alpha: float = 0.05) -> RatioEquivalence:
    """Test whether the ratio of two means lies between two limits.

    Parameters
    ----------
    a, b : array_like, one-dimensional, at least 2 values each
        Independent results in one unit; not both without spread. The mean of b must lie clearly above 0.
    low, high : float
        Limits of a ratio, a over b, that does not matter, above 0; usually low is below 1 and high above it.
    alpha : float
        Risk of calling means equivalent that lie at a limit, between 0 and 0.5.

    Returns
    -------
    RatioEquivalence

    Raises
    ------
    ValueError
        If a group has fewer than 2 values, a value is not a finite number, both groups are without spread,
        low is not above 0 and below high, alpha is outside (0, 0.5), or the mean of b lies so near 0 that
        the ratio has no finite interval.

    Notes
    -----
    Takes the spreads as equal: look at ``brown_forsythe`` first. Where the spread grows with the strength
    the interval is too short on one side and too long on the other. Limits must be set beforehand.

    References
    ----------
    .. [1] Fieller (1954), Some problems in interval estimation, Journal of the Royal Statistical Society B
       16, from memory.
    .. [2] Sasabuchi (1980), A test of a multivariate normal mean with composite hypotheses determined by
       linear inequalities, Biometrika 67, from memory (the two linear contrasts).

    Examples
    --------
    >>> found = equivalence_ratio([1.42, 1.51, 1.38, 1.47, 1.55], [1.44, 1.46, 1.41, 1.50], low=0.9, high=1.1)
    >>> found.equivalent, round(found.ratio, 4), [round(limit, 3) for limit in found.interval]
    (True, 1.0093, [0.96, 1.061])
    """
    low, high, alpha = _question(low, high, alpha)
    checked.positive(low, name="low")
    first, second = two(a, b)
    variance, df = pooled([first, second])
    sd = root(variance)
    from_low, from_high = (
        float(first.mean - Fraction(limit) * second.mean) / (sd * math.hypot(first.n**-0.5, limit * second.n**-0.5))
        for limit in (low, high)
    )
    p_low, p_high = tails.t_upper(from_low, df), tails.t_upper(-from_high, df)
    reach = tails.t_quantile(alpha, df) * sd
    if not float(second.mean) > reach * second.n**-0.5:
        raise ValueError(
            f"b must have a mean clearly above 0 (more than {reach * second.n**-0.5:g} here); "
            f"got {float(second.mean):g}."
        )
    ratio = float(first.mean / second.mean)
    return RatioEquivalence(
        ratio=ratio,
        df=df,
        statistic_low=from_low,
        statistic_high=from_high,
        p_low=p_low,
        p_high=p_high,
        p_value=max(p_low, p_high),
        interval=_fieller(ratio, reach / float(second.mean), first.n, second.n),
        equivalent=max(p_low, p_high) <= alpha,
        low=low,
        high=high,
        alpha=alpha,
    )


def _question(low: float, high: float, alpha: float) -> tuple[float, float, float]:
    limits = checked.array([low, high], name="low and high").tolist()
    if not limits[0] < limits[1]:
        raise ValueError(f"low must be below high; got {low!r} and {high!r}.")
    alpha = checked.fraction(alpha, name="alpha")
    if alpha >= 0.5:
        raise ValueError(f"alpha must be below 0.5, for an interval of confidence 1 - 2 alpha; got {alpha!r}.")
    return limits[0], limits[1], alpha


def _fieller(ratio: float, reach: float, n_a: int, n_b: int) -> Interval:
    """Ratios whose contrast lies within ``reach`` (t sd over the mean of b) standard errors of 0."""
    left = 1 - reach * reach / n_b
    half = reach * math.hypot(ratio / math.sqrt(n_b), math.sqrt(left / n_a))
    return Interval((ratio - half) / left, (ratio + half) / left)
