"""Several groups at once: are their means equal, are their spreads?"""

import math
from dataclasses import dataclass
from fractions import Fraction

from numpy.typing import ArrayLike
from scipy import special

from labrecords.stats import checked, tails
from labrecords.stats.checked import Floats
from labrecords.stats.exact import Exact, exact, exact_deviations, pooled, quotient, root, varies


@dataclass(frozen=True)
class OneWay:
    """One-way analysis of variance.

    Attributes
    ----------
    f_statistic : float
        Mean square between groups over mean square within; ``F`` is the same.
    df_between, df_within : int
        Degrees of freedom.
    ss_between, ss_within, ms_between, ms_within : float
        Sums of squares and mean squares, in the squared unit of the values.
    residual_sd : float
        Standard deviation within groups, pooled.
    r_squared : float
        Share of the total sum of squares that lies between groups.
    p_value : float
        Of equal means.
    means : tuple of float
        Of the groups, in the order given.
    """

    f_statistic: float
    df_between: int
    df_within: int
    ss_between: float
    ss_within: float
    ms_between: float
    ms_within: float
    residual_sd: float
    r_squared: float
    p_value: float
    means: tuple[float, ...]

    @property
    def F(self) -> float:  # noqa: N802 - the letter of every textbook
        """The F statistic."""
        return self.f_statistic


@dataclass(frozen=True)
class BrownForsythe:
    """Brown and Forsythe's test of equal spreads.

    Attributes
    ----------
    statistic : float
        F of the absolute deviations from the groups' medians.
    df : tuple of int
        Degrees of freedom between and within groups.
    p_value : float
        Of equal spreads.
    """

    statistic: float
    df: tuple[int, int]
    p_value: float


@dataclass(frozen=True)
class Bartlett:
    """Bartlett's test of equal variances.

    Attributes
    ----------
    statistic : float
        Compared with chi-squared.
    df : int
        Number of groups less 1.
    p_value : float
        Of equal variances.
    """

    statistic: float
    df: int
    p_value: float


def one_way(*groups: ArrayLike) -> OneWay:
    """Analyse the variance between and within groups.

    Parameters
    ----------
    *groups : array_like, one-dimensional, at least 2 values each
        Two or more groups of independent results in one unit; not all without spread.

    Returns
    -------
    OneWay

    Raises
    ------
    ValueError
        If there are fewer than 2 groups, one has fewer than 2 values, a value is not a finite number, or
        every group is without spread (or less than 1e-100 of the spread between groups).

    Notes
    -----
    For independent values of normal distributions with equal spread. Sums of squares are computed without
    rounding, so a spread that is tiny beside the values keeps its digits. Unequal spreads mislead most where
    the numbers of values differ as well.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 7.4.3.

    Examples
    --------
    >>> found = one_way([1.42, 1.51, 1.38], [1.31, 1.36, 1.33], [1.40, 1.44, 1.47])
    >>> round(found.F, 3), found.df_between, found.df_within, round(found.p_value, 4)
    (5.085, 2, 6, 0.0511)
    """
    return analysed([exact(group) for group in listed(groups)])


def brown_forsythe(*groups: ArrayLike) -> BrownForsythe:
    """Test whether groups have equal spread, by their absolute deviations from the median.

    Parameters
    ----------
    *groups : array_like, one-dimensional, at least 2 values each
        Two or more groups of independent results in one unit.

    Returns
    -------
    BrownForsythe

    Raises
    ------
    ValueError
        If there are fewer than 2 groups, one has fewer than 2 values, a value is not a finite number, or
        within every group all values lie equally far from its median (as any two values do).

    Notes
    -----
    Holds well for other shapes than the normal. Fewer than about 10 values a group show only gross
    differences, and very few make the test too careful.

    References
    ----------
    .. [1] Brown and Forsythe (1974), Robust tests for the equality of variances, Journal of the American
       Statistical Association 69, from memory.
    .. [2] NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.10 (Levene's test, with the median).

    Examples
    --------
    >>> found = brown_forsythe([1.42, 1.51, 1.38, 1.47], [1.31, 1.36, 1.33, 1.35], [1.2, 1.44, 1.6, 1.5])
    >>> round(found.statistic, 3), found.df, round(found.p_value, 3)
    (2.242, (2, 9), 0.162)
    """
    deviations = [exact_deviations(group) for group in listed(groups)]
    if not any(varies(group.variance) for group in deviations):
        raise ValueError(
            "in one group at least the values must lie at different distances from its median; "
            "within every group all distances are equal."
        )
    found = analysed(deviations)
    return BrownForsythe(statistic=found.f_statistic, df=(found.df_between, found.df_within), p_value=found.p_value)


def bartlett(*groups: ArrayLike) -> Bartlett:
    """Test whether groups have equal variances, by the ratio of mean and geometric mean of the variances.

    Parameters
    ----------
    *groups : array_like, one-dimensional, at least 2 values each, not all equal
        Two or more groups of independent results in one unit.

    Returns
    -------
    Bartlett

    Raises
    ------
    ValueError
        If there are fewer than 2 groups, one has fewer than 2 values or only equal ones, or a value is not a
        finite number.

    Notes
    -----
    Answers for normal values only: long tails look like unequal variances. ``brown_forsythe`` is safer.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.7.

    Examples
    --------
    >>> found = bartlett([1.42, 1.51, 1.38, 1.47], [1.31, 1.36, 1.33, 1.35], [1.2, 1.44, 1.6, 1.5])
    >>> round(found.statistic, 3), found.df, round(found.p_value, 4)
    (8.706, 2, 0.0129)
    """
    values = listed(groups)
    found = [exact(checked.spread(group, name=f"group {place}")) for place, group in enumerate(values, 1)]
    variance, df = pooled(found)
    terms = math.fsum((group.n - 1) * _log_shortfall(group.variance, variance) for group in found)
    correction = sum(1 / (group.n - 1) for group in found) - 1 / df
    statistic = terms / (1 + correction / (3 * (len(found) - 1)))
    return Bartlett(statistic=statistic, df=len(found) - 1, p_value=float(special.chdtrc(len(found) - 1, statistic)))


def listed(groups: tuple[ArrayLike, ...]) -> list[Floats]:
    """Return two or more checked groups."""
    if len(groups) < 2:
        raise ValueError(f"groups must be at least 2; got {len(groups)}.")
    return [checked.array(group, name=f"group {place}", at_least=2) for place, group in enumerate(groups, 1)]


def analysed(groups: list[Exact]) -> OneWay:
    """Return the analysis of variance of groups whose sums are known."""
    ms_within, df_within = pooled(groups)
    n = sum(group.n for group in groups)
    mean = sum((group.n * group.mean for group in groups), Fraction(0)) / n
    between = sum((group.n * (group.mean - mean) ** 2 for group in groups), Fraction(0))
    within, df_between = ms_within * df_within, len(groups) - 1
    ratio = quotient(between / df_between, ms_within)
    return OneWay(
        f_statistic=ratio,
        df_between=df_between,
        df_within=df_within,
        ss_between=float(between),
        ss_within=float(within),
        ms_between=float(between / df_between),
        ms_within=float(ms_within),
        residual_sd=root(ms_within),
        r_squared=float(between / (between + within)),
        p_value=tails.f_upper(ratio, (df_between, df_within)),
        means=tuple(float(group.mean) for group in groups),
    )


def _log_shortfall(variance: Fraction, mean: Fraction) -> float:
    """r - log(1 + r), r the excess of a variance over the pooled one; the excesses themselves add up to 0."""
    excess = float(variance / mean - 1)
    if abs(excess) < 1e-4:  # the difference would lose its digits
        return excess**2 * (1 / 2 - excess * (1 / 3 - excess / 4))
    if excess < -0.5:
        return excess - 2 * math.log(root(variance / mean))  # the ratio itself may be too small for a double
    return excess - math.log1p(excess)
