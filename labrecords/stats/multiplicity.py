"""Largest of several t statistics: Dunnett's distribution and the studentised range, integrated here.

scipy.stats.dunnett integrates at random points (three or four digits); scipy.stats.studentized_range subtracts from
1, so that a probability of 1e-8 keeps seven digits, and takes more than 100,000 degrees of freedom for infinitely
many. Both integrals run over the whole line and die away smoothly at both ends,
where the trapezoid rule converges exponentially [1]_; the tail itself is integrated, not 1 less the rest, so that
it keeps its digits however small it is.

References
----------
.. [1] Trefethen and Weideman (2014), The exponentially convergent trapezoidal rule, SIAM Review 56(3), from memory.
"""

import math
from collections.abc import Callable, Sequence

import numpy as np
from scipy import optimize, special

from labrecords.stats.checked import Floats
from labrecords.stats.tails import t_quantile

FAR = 10.0  # standard deviations; the normal mass beyond is 1e-23
FARTHEST = 40.0  # where the normal density leaves the doubles
BLOCK = 200_000  # points held at once
NOTHING = 42.0  # exp(-42) is 6e-19


def dunnett_upper(statistic: float, *, reference: int, others: Sequence[int], df: float) -> float:
    """Return the probability that any of the t statistics against one reference exceeds ``statistic`` in size.

    Parameters
    ----------
    statistic : float
        0 or more.
    reference : int
        Number of values of the reference.
    others : sequence of int
        Number of values of each of the other groups.
    df : float
        Degrees of freedom of the standard deviation, 1 or more.

    References
    ----------
    .. [1] Dunnett (1955), A multiple comparison procedure for comparing several treatments with a control,
       Journal of the American Statistical Association 50, equation for the product correlation, from memory.

    Examples
    --------
    >>> round(dunnett_upper(2.57, reference=6, others=[6, 6], df=10), 3)
    0.05
    """
    shares = [math.sqrt(n / (n + reference)) for n in others]  # how much of each statistic is the reference's error
    return _averaged(lambda size: _any_beyond(size, shares), statistic, df=df, decay=1.0)


def dunnett_critical(tail: float, *, reference: int, others: Sequence[int], df: float) -> float:
    """Return the size that any of the t statistics exceeds with probability ``tail``."""

    def upper(size: float) -> float:
        return dunnett_upper(size, reference=reference, others=others, df=df)

    return _solved(upper, tail, t_quantile(tail / 2, df), t_quantile(tail / 2 / len(others), df))


def range_upper(statistic: float, *, groups: int, df: float) -> float:
    """Return the probability that the studentised range of ``groups`` means exceeds ``statistic``.

    Parameters
    ----------
    statistic : float
        0 or more.
    groups : int
        2 or more.
    df : float
        Degrees of freedom of the standard deviation, 1 or more.

    References
    ----------
    .. [1] Harter (1960), Tables of range and studentized range, Annals of Mathematical Statistics 31,
       from memory.

    Examples
    --------
    >>> round(range_upper(3.877, groups=3, df=10), 3)
    0.05
    """
    return _averaged(lambda size: _range_beyond(size, groups), statistic, df=df, decay=0.5)


def range_critical(tail: float, *, groups: int, df: float) -> float:
    """Return the studentised range exceeded with probability ``tail``."""
    pairs = math.comb(groups, 2)
    low, high = (math.sqrt(2) * t_quantile(share / 2, df) for share in (tail, tail / pairs))
    return _solved(lambda size: range_upper(size, groups=groups, df=df), tail, low, high)


def _solved(upper: Callable[[float], float], tail: float, low: float, high: float) -> float:
    """Between the limits for a single comparison and for comparisons that share nothing (Bonferroni)."""

    def excess(size: float) -> float:
        return math.log(upper(size) / tail)

    room = 1e-9  # the upper limit may itself be all but the root
    if low == high or excess(low) <= 0:  # one comparison, or a confidence below the spacing of doubles
        return low
    return float(optimize.brentq(excess, low * (1 - room), high * (1 + room), xtol=1e-14 * low, rtol=1e-14))


def _averaged(beyond: Callable[[Floats], Floats], statistic: float, *, df: float, decay: float) -> float:
    """Average of ``beyond(statistic * s)`` over s, the root of chi-squared over df.

    Points lie evenly in log s. About log(centre) the integrand is largest, as ``beyond(x)`` falls like
    exp(-decay x**2 / 2).
    """
    step = 0.3 / math.sqrt(df + 16)
    left = math.sqrt(2 * NOTHING / df)
    left = left if left < 0.75 else NOTHING / df + 0.5
    right = min(math.sqrt(NOTHING / df), 2.3)
    points = np.arange(-math.ceil(left / step), math.ceil(right / step) + 1, dtype=np.float64) * step
    logs = points - math.log(math.hypot(1.0, statistic * math.sqrt(decay / df)))
    whole = _chi_weight(points, df).sum()
    return min(1.0, float(_chi_weight(logs, df) @ beyond(statistic * np.exp(logs)) / whole))


def _chi_weight(logs: Floats, df: float) -> Floats:
    """Density of log s but for a constant."""
    weight: Floats = np.exp(df * (logs - np.expm1(2 * logs) / 2))
    return weight


def _any_beyond(sizes: Floats, shares: Sequence[float]) -> Floats:
    """P(any of the statistics is beyond each size), the standard deviation known."""
    own = [math.sqrt((1 - share) * (1 + share)) for share in shares]
    step = 0.35 * min(own) / math.sqrt(len(shares))
    end = min(float(sizes.max()) * max(shares) + FAR, FARTHEST)
    # z is the error of the reference's mean; the integrand is even in it.
    z = np.arange(math.ceil(end / step) + 1, dtype=np.float64) * step
    weight = _normal_weight(z, step) * np.where(z == 0, 1, 2)
    # By blocks of sizes: a reference of very few values beside large groups needs many points.
    rows = max(1, BLOCK // z.size)
    blocks = (sizes[start : start + rows, np.newaxis] for start in range(0, sizes.size, rows))
    return np.concatenate([_union(block, z, shares, own) @ weight for block in blocks])


def _union(sizes: Floats, z: Floats, shares: Sequence[float], own: Sequence[float]) -> Floats:
    any_beyond = np.zeros(np.broadcast_shapes(sizes.shape, z.shape))
    for share, rest in zip(shares, own, strict=True):
        beyond = special.ndtr((-sizes - share * z) / rest) + special.ndtr((-sizes + share * z) / rest)
        any_beyond += beyond * (1 - any_beyond)
    return any_beyond


def _range_beyond(sizes: Floats, groups: int) -> Floats:
    """P(the range of so many normal errors is beyond each size), by where the largest of them lies."""
    step = 0.35 / math.sqrt(groups)
    size = sizes[:, np.newaxis]
    z = size / 2 + np.arange(-math.ceil(FAR / step), math.ceil(FAR / step) + 1, dtype=np.float64) * step
    below = special.ndtr(z)
    near, far = below - special.ndtr(z - size), special.ndtr(z - size)
    # below**m - near**m, all terms positive, m = groups - 1
    quotient, power = np.ones_like(z), np.ones_like(z)
    for _ in range(groups - 2):
        power = power * below
        quotient = quotient * near + power
    return np.asarray((groups * _normal_weight(z, step) * far * quotient).sum(axis=1))


def _normal_weight(z: Floats, step: float) -> Floats:
    weight: Floats = np.exp(-z * z / 2) * (step / math.sqrt(2 * math.pi))
    return weight
