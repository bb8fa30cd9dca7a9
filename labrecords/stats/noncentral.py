"""Probabilities of the non-central t distribution, by quadrature. The callers check the arguments.

A non-central t is (z + shift) / s: z standard normal, s an estimated over the true standard deviation. scipy has this
distribution, but scipy 1.17 is off by 1e-11 at 5 degrees of freedom and shift 20, and by 5e-3 at 99 and 300; a capable
process comes to such shifts. Here each probability is one Gauss-Legendre sum, over s or over z, whichever leaves the
smoother function to be averaged; it is right to about 1e-14 (in absolute terms).

References
----------
.. [1] Owen (1968), A survey of properties and applications of the noncentral t-distribution, Technometrics 10(3),
   from memory.
"""

from functools import lru_cache
from typing import SupportsFloat

import numpy as np
from scipy import optimize, special

from labrecords.stats.checked import Floats

NODES = 160
FAR = 11.0  # standard errors; the normal mass beyond is 1e-28


def below(t: float, df: float, shift: float) -> float:
    """Return P(T <= t) for a non-central t of ``df`` degrees of freedom.

    Examples
    --------
    >>> round(below(0.0, 4, 1.0), 12) == round(float(special.ndtr(-1.0)), 12)
    True
    """
    return above(-t, df, -shift) if t < 0 else _probability(t, df, shift, beyond=False)


def above(t: float, df: float, shift: float) -> float:
    """Return P(T > t) for a non-central t of ``df`` degrees of freedom.

    Examples
    --------
    >>> round(above(2.0, 4, 1.0) + below(2.0, 4, 1.0), 12)
    1.0
    """
    return below(-t, df, -shift) if t < 0 else _probability(t, df, shift, beyond=True)


def between(t: float, df: float, low: float, high: float) -> float:
    """Return P(z >= low + t s and z <= high - t s), for t above 0 and low below high: two tests at once.

    Examples
    --------
    >>> round(between(2.0, 10, -50.0, 3.0), 12) == round(above(2.0, 10, 3.0), 12)  # the first is sure
    True
    """
    if t <= np.sqrt(2 * df):
        s, weight = _scale_nodes(df, most=(high - low) / (2 * t))
        return _share(weight @ (special.ndtr(high - t * s) - special.ndtr(low + t * s)))
    middle = (low + high) / 2  # s is bounded by the nearer end
    left, left_weight = _normal_nodes(low, middle)
    right, right_weight = _normal_nodes(middle, high)
    return _share(
        left_weight @ _scale_below((left - low) / t, df) + right_weight @ _scale_below((high - right) / t, df)
    )


def shift_at(t: float, df: float, confidence: float) -> float:
    """Return the shift at which P(T <= t) is ``confidence``: a lower confidence bound of the shift.

    Examples
    --------
    >>> shift = shift_at(9.2, 9, 0.95)
    >>> round(shift, 3), round(below(9.2, 9, shift), 12)
    (5.198, 0.95)
    """

    def lacking(shift: float) -> float:  # falls with the shift; in the smaller tail, which has the digits
        if confidence > 0.5:
            return above(t, df, shift) - (1 - confidence)
        return confidence - below(t, df, shift)

    width = 1 + abs(t) / np.sqrt(df)
    low, high = t - width, t + width
    while lacking(low) > 0:
        low -= width
        width *= 2
    while lacking(high) < 0:
        high += width
        width *= 2
    return float(optimize.brentq(lacking, low, high, xtol=1e-14, rtol=1e-14))


def _probability(t: float, df: float, shift: float, *, beyond: bool) -> float:
    if t <= np.sqrt(2 * df):  # the normal step in s is wider than the density of s
        s, weight = _scale_nodes(df)
        distance = t * s - shift
        return _share(weight @ special.ndtr(-distance if beyond else distance))
    z, weight = _normal_nodes(-shift, np.inf)
    reach = (z + shift) / t  # T <= t where s is at least this
    if beyond:
        return _share(weight @ _scale_below(reach, df))
    return _share(special.ndtr(-shift) + weight @ special.gammaincc(df / 2, df / 2 * reach**2))


def _share(total: SupportsFloat) -> float:
    return min(float(total), 1.0)  # a sum may round to more


def _scale_below(s: Floats, df: float) -> Floats:
    share: Floats = special.gammainc(df / 2, df / 2 * s**2)
    return share


def _normal_nodes(low: float, high: float) -> tuple[Floats, Floats]:
    """Points of the standard normal between ``low`` and ``high``, and weights that sum to its mass there."""
    low, high = np.clip(low, -FAR, FAR), np.clip(high, -FAR, FAR)
    z, weight = _legendre(low, high)
    return z, weight * np.exp(-z * z / 2) / np.sqrt(2 * np.pi)


def _scale_nodes(df: float, *, most: float = np.inf) -> tuple[Floats, Floats]:
    """Points of s = sqrt(chi-squared / df) up to ``most``, and weights that sum to its mass there."""
    low, high = max(-1.0, -FAR / np.sqrt(df)), FAR / np.sqrt(df)
    whole = _scale_mass(df, low, high)[1].sum()  # the density's constant would lose digits at many degrees
    deviation, mass = _scale_mass(df, low, float(np.clip(most - 1, low, high)))
    return 1 + deviation, mass / whole


def _scale_mass(df: float, low: float, high: float) -> tuple[Floats, Floats]:
    deviation, weight = _legendre(low, high)
    with np.errstate(divide="ignore"):  # s may round to 0, where the density is 0
        exponent = (df - 1) * np.log1p(deviation) - df * deviation * (1 + deviation / 2)
    return deviation, weight * np.exp(exponent)


def _legendre(low: float, high: float) -> tuple[Floats, Floats]:
    points, weights = _standard_nodes()
    half = (high - low) / 2
    return low + half * (points + 1), half * weights


@lru_cache(maxsize=1)
def _standard_nodes() -> tuple[Floats, Floats]:
    points, weights = np.polynomial.legendre.leggauss(NODES)
    return points, weights
