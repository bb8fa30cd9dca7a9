"""Constants of control charts for subgroups of n values, computed from their definitions."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy import special

from labrecords.stats import checked
from labrecords.stats.checked import Floats

MOST = 1000  # nobody charts ranges of more
FAR = 12.0  # standard deviations; the largest of a thousand values is beyond with probability 1e-30
STEP = 1 / 16
LONGEST = 24.0
NODES = 200


@dataclass(frozen=True)
class ChartConstants:
    """Constants for subgroups of ``n``; the names are the usual symbols.

    Attributes
    ----------
    n : int
        Values in a subgroup.
    c4 : float
        Expected standard deviation of n normal values, over the true one.
    d2, d3 : float
        Mean and standard deviation of the range of n normal values, over the true standard deviation.
    A2, A3 : float
        Limits of means: A2 mean ranges, or A3 mean standard deviations, from the centre line.
    B3, B4 : float
        Limits of standard deviations, times their mean.
    D3, D4 : float
        Limits of ranges, times their mean.
    """

    n: int
    c4: float
    d2: float
    d3: float
    A2: float
    A3: float
    B3: float
    B4: float
    D3: float
    D4: float


@lru_cache(maxsize=256)
def constants(n: int) -> ChartConstants:
    """Return the constants of control charts for subgroups of ``n`` values.

    Parameters
    ----------
    n : int
        Values in a subgroup, 2 to 1000.

    Returns
    -------
    ChartConstants
        To about 13 digits. Limits that would be below 0 are 0.

    Raises
    ------
    ValueError
        If n is out of range.

    Notes
    -----
    Three-sigma limits by custom: standard deviations and ranges are not normal, so that the chance beyond a limit is
    not the 0.27 % of means, and differs with n.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.1 (c4, and charts of means, s and R).
    .. [2] Tippett (1925), On the extreme individuals and the range of samples taken from a normal population,
       Biometrika 17, from memory.

    Examples
    --------
    >>> found = constants(5)
    >>> round(found.c4, 4), round(found.d2, 3), round(found.A2, 3), round(found.D4, 3)
    (0.94, 2.326, 0.577, 2.114)
    """
    n = checked.count(n, name="n", at_least=2)
    if n > MOST:
        raise ValueError(f"n must be at most {MOST}; got {n}.")
    d2, d3 = _range_moments(n)
    sd, root = c4(n), float(np.sqrt(n))
    b = 3 * float(np.sqrt((1 - sd) * (1 + sd))) / sd
    d = 3 * d3 / d2
    return ChartConstants(
        n=n,
        c4=sd,
        d2=d2,
        d3=d3,
        A2=3 / (d2 * root),
        A3=3 / (sd * root),
        B3=max(0.0, 1 - b),
        B4=1 + b,
        D3=max(0.0, 1 - d),
        D4=1 + d,
    )


def c4(n: int) -> float:
    """Return the expected standard deviation of ``n`` normal values, over the true one.

    sqrt(2 / (n - 1)) Gamma(n / 2) / Gamma((n - 1) / 2), for n of at least 2.

    Examples
    --------
    >>> round(c4(5), 4)
    0.94
    """
    df = n - 1
    return float(np.sqrt(2 / df) * special.poch(df / 2, 0.5))


def _range_moments(n: int) -> tuple[float, float]:
    """Mean and standard deviation of the range, from the integrals of P(range > r) and of 2 r P(range > r)."""
    points, weights = np.polynomial.legendre.leggauss(NODES)
    r, weight = LONGEST / 2 * (points + 1), LONGEST / 2 * weights
    beyond = weight * (1 - _range_within(r, n))
    mean = float(beyond.sum())
    return mean, float(np.sqrt(2 * beyond @ r - mean**2))


def _range_within(r: Floats, n: int) -> Floats:
    """P(range <= r): n times the integral of the smallest's density and P(the others within r above it).

    By the trapezoid rule, which is exact to rounding for a smooth density that dies away at both ends.
    """
    x = np.arange(-FAR, FAR + STEP, STEP)[:, None]
    held = special.ndtr(x + r) - special.ndtr(x)
    density = n * np.exp(-x * x / 2) / np.sqrt(2 * np.pi)
    within: Floats = STEP * (density * held ** (n - 1)).sum(axis=0)
    return within
