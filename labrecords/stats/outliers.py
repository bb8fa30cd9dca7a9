"""Tests that flag a value as far from the others. None of them removes a value."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from labrecords.stats import checked
from labrecords.stats.checked import Floats
from labrecords.stats.moments import moments
from labrecords.stats.risks import risk
from labrecords.stats.tails import t_quantile, t_upper

Side = Literal["two", "low", "high"]
SIDES = ("two", "low", "high")


@dataclass(frozen=True)
class Grubbs:
    """Answer of Grubbs' test for one outlier.

    Attributes
    ----------
    statistic : float
        G: distance of the suspect value from the mean, in standard deviations of all values.
    critical : float
        What G must exceed at risk ``alpha``.
    p_value : float
        At most 1. An upper bound, exact where it is small; see ``grubbs``.
    index : int
        Place of the suspect value, counted from 0; the first of equal ones.
    value : float
        The suspect value.
    outlier : bool
        Whether it is flagged, at risk ``alpha``.
    side : str
        ``"two"``, ``"low"`` or ``"high"``.
    alpha : float
        Risk of flagging a value where all are of one normal distribution.
    n : int
        Number of values.
    """

    statistic: float
    critical: float
    p_value: float
    index: int
    value: float
    outlier: bool
    side: str
    alpha: float
    n: int


@dataclass(frozen=True)
class GeneralizedEsd:
    """Answer of Rosner's test for several outliers.

    Attributes
    ----------
    statistics : tuple of float
        R of each step: distance of the farthest value still there from the mean, in standard deviations; 0 where
        all that are left are equal.
    criticals : tuple of float
        What each R must exceed.
    count : int
        Number of outliers: the last step whose R exceeds its critical value, whatever the steps before it say.
    indices : tuple of int
        Places of the flagged values, counted from 0, farthest first.
    suspects : tuple of int
        Places of all values set aside in turn, flagged or not.
    alpha : float
        Risk of flagging any value where all are of one normal distribution.
    n : int
        Number of values.
    """

    statistics: tuple[float, ...]
    criticals: tuple[float, ...]
    count: int
    indices: tuple[int, ...]
    suspects: tuple[int, ...]
    alpha: float
    n: int


def grubbs(values: ArrayLike, *, side: Side = "two", alpha: float = 0.05) -> Grubbs:
    """Test whether the value farthest from the mean is too far to belong to the others.

    Parameters
    ----------
    values : array_like, one-dimensional, at least 3 values
        Independent results, not all equal.
    side : str
        ``"two"``: the farthest value to either side; ``"low"``: the smallest; ``"high"``: the largest.
    alpha : float
        Risk of flagging a value where all are of one normal distribution, from 1e-100 up to below 1.

    Returns
    -------
    Grubbs

    Raises
    ------
    ValueError
        If there are fewer than 3 values, one is not a finite number, all are equal, or an argument is out of range.

    Notes
    -----
    House rule: a test only flags. A value leaves a calculation only with a recorded physical cause, and both versions
    stay visible.

    The p value is n times (two-sided: 2 n times) the tail of the t distribution, Bonferroni's bound. It is exact, not
    only a bound, where no second value can be as far: for G above sqrt((n - 1)(n - 2) / (2 n)) one-sided and above
    sqrt((n - 1) / 2) two-sided [2]_. At a risk of 5 % that covers every flag for n up to 14 one-sided and 13 two-sided;
    beyond, p is too large by a share of about p / 2 at most.

    Misleads where the values are not normal (a skewed population has far values by nature), and where two outliers
    hide each other: see ``generalized_esd``. Repeating the test after a removal changes its risk.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.1.
    .. [2] Pearson and Chandra Sekar (1936), The efficiency of statistical tools and a criterion for the rejection of
       outlying observations, Biometrika 28, from memory.

    Examples
    --------
    >>> found = grubbs([199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57], side="high")
    >>> round(found.statistic, 4), round(found.critical, 4), found.value, found.outlier
    (2.4688, 2.0317, 245.57, True)
    """
    data = checked.spread(values, at_least=3)
    side_checked, alpha = checked.choice(side, name="side", options=SIDES), risk(alpha, name="alpha")
    data_sorted = np.sort(data)  # sorted once: the order of the values changes nothing
    high = side_checked == "high" or (side_checked == "two" and _high_is_farther(data_sorted))
    p_value = min(1.0, _ways(data.size, side_checked) * _tail(data_sorted, high=high))
    value = float(data_sorted[-1 if high else 0])
    return Grubbs(
        statistic=_distance(data_sorted, high=high),
        critical=_critical(data.size, alpha / _ways(data.size, side_checked)),
        p_value=p_value,
        index=int(np.flatnonzero(data == value)[0]),
        value=value,
        outlier=p_value < alpha,  # the same as statistic > critical, but G rounds near its largest possible value
        side=side_checked,
        alpha=alpha,
        n=data.size,
    )


def grubbs_critical(n: int, *, side: Side = "two", alpha: float = 0.05) -> float:
    """Return what Grubbs' G must exceed for a value to be flagged.

    Parameters
    ----------
    n : int
        Number of values, at least 3.
    side : str
        ``"two"``, ``"low"`` or ``"high"``.
    alpha : float
        Risk, from 1e-100 up to below 1.

    Returns
    -------
    float
        (n - 1) / sqrt(n) sqrt(t**2 / (n - 2 + t**2)), t the quantile of n - 2 degrees of freedom exceeded with
        probability alpha / n, two-sided alpha / (2 n).

    Raises
    ------
    ValueError
        If an argument is out of range.

    Notes
    -----
    By Bonferroni's bound, as the usual tables; see ``grubbs`` for where it is exact.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.1.

    Examples
    --------
    >>> round(grubbs_critical(10, side="two"), 3), round(grubbs_critical(10, side="high"), 3)
    (2.29, 2.176)
    """
    n = checked.count(n, name="n", at_least=3)
    side_checked = checked.choice(side, name="side", options=SIDES)
    return _critical(n, risk(alpha, name="alpha") / _ways(n, side_checked))


def generalized_esd(values: ArrayLike, *, max_outliers: int, alpha: float = 0.05) -> GeneralizedEsd:
    """Test for up to ``max_outliers`` outliers at once, by Rosner's generalized extreme studentized deviate.

    Parameters
    ----------
    values : array_like, one-dimensional, at least 3 values
        Independent results, not all equal.
    max_outliers : int
        From 1 to n - 2, fixed before looking at the values.
    alpha : float
        Risk of flagging any value where all are of one normal distribution, from 1e-100 up to below 1.

    Returns
    -------
    GeneralizedEsd

    Raises
    ------
    ValueError
        If there are fewer than 3 values, one is not a finite number, all are equal, or an argument is out of range.

    Notes
    -----
    House rule: a test only flags. A value leaves a calculation only with a recorded physical cause, and both versions
    stay visible.

    The risk is close to ``alpha`` for 25 values and more, roughly so from 15; with fewer the test flags more often
    than it says [1]_. Outliers that hide each other in Grubbs' test are found, if ``max_outliers`` is large enough.

    References
    ----------
    .. [1] Rosner (1983), Percentage points for a generalized ESD many-outlier procedure, Technometrics 25(2), from
       memory.
    .. [2] NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.3.

    Examples
    --------
    >>> found = generalized_esd([1.4, 1.5, 1.3, 1.6, 1.5, 1.4, 1.2, 1.7, 1.5, 1.4, 4.0, 4.1], max_outliers=3)
    >>> found.count, found.indices
    (2, (11, 10))
    >>> [round(statistic, 3) for statistic in found.statistics]
    [2.172, 2.969, 1.744]
    """
    data = checked.spread(values, at_least=3)
    most, alpha = checked.count(max_outliers, name="max_outliers", at_least=1), risk(alpha, name="alpha")
    if most > data.size - 2:
        raise ValueError(f"max_outliers must be at most {data.size - 2}, two less than the values; got {most}.")
    statistics, suspects = _set_aside(data, most)
    criticals = tuple(_critical(left, alpha / (2 * left)) for left in range(data.size, data.size - most, -1))
    beyond = [step for step in range(most) if statistics[step] > criticals[step]]
    count = beyond[-1] + 1 if beyond else 0
    return GeneralizedEsd(
        statistics=statistics,
        criticals=criticals,
        count=count,
        indices=suspects[:count],
        suspects=suspects,
        alpha=alpha,
        n=data.size,
    )


def _ways(n: int, side: str) -> int:
    """In how many ways a value can be the one too far."""
    return 2 * n if side == "two" else n


def _critical(n: int, tail: float) -> float:
    t = t_quantile(tail, n - 2)
    return float((n - 1) / np.sqrt(n) / np.sqrt(1 + (n - 2) / t / t))


def _distance(data: Floats, *, high: bool) -> float:
    """How many standard deviations the largest, or smallest, of the sorted values is from the mean."""
    found = moments(data)
    distance = data[-1] - found.mean if high else found.mean - data[0]
    return float(distance / found.sd) if found.sd > 0 else 0.0


def _high_is_farther(data: Floats) -> bool:
    middle = moments(data).mean
    return bool(data[-1] - middle >= middle - data[0])


def _tail(data: Floats, *, high: bool) -> float:
    """Chance of one given value being as far to its side, from its distance to the others alone.

    G near its largest possible value, (n - 1) / sqrt(n), has no digits left for the t that belongs to it; this t has.
    """
    others = moments(data[:-1] if high else data[1:])
    distance = data[-1] - others.mean if high else others.mean - data[0]
    spread = others.sd * np.sqrt(1 + 1 / others.n)
    return t_upper(float(distance / spread), others.n - 1) if spread > 0 else 0.0


def _set_aside(data: Floats, most: int) -> tuple[tuple[float, ...], tuple[int, ...]]:
    """Distance and place of the farthest value, then of the farthest of the rest, and so on."""
    left, here = np.sort(data), np.ones(data.size, dtype=bool)
    statistics, suspects = [], []
    for _ in range(most):
        high = _high_is_farther(left)
        statistics.append(_distance(left, high=high))
        place = int(np.flatnonzero(here & (data == left[-1 if high else 0]))[0])
        suspects.append(place)
        here[place] = False
        left = left[:-1] if high else left[1:]
    return tuple(statistics), tuple(suspects)
