"""Factors of normal tolerance bounds, computed and remembered. ``tolerance`` checks the arguments."""

from functools import lru_cache

import numpy as np
from scipy import optimize, special, stats
from scipy.optimize import elementwise

from labrecords.stats.checked import Floats

FAR = 10.0  # standard errors of the mean; the normal mass beyond is 1e-23
NODES = 160
MANY = 3_000_000  # degrees of freedom
NARROWEST = 1e-6  # a two-sided coverage below is a difference of two numbers that are nearly equal


@lru_cache(maxsize=4096)
def one_sided(n: int, df: float, coverage: float, confidence: float) -> float:
    """Return t'(confidence; df, z_coverage sqrt(n)) / sqrt(n).

    Examples
    --------
    >>> round(one_sided(30, 29.0, 0.95, 0.95), 4)
    2.2198
    """
    root = np.sqrt(n)
    factor = float(stats.nct.ppf(confidence, df, special.ndtri(coverage) * root) / root)
    if not np.isfinite(factor):
        raise _beyond(n, coverage, confidence)
    return factor


@lru_cache(maxsize=4096)
def two_sided(n: int, coverage: float, confidence: float) -> float:
    """Return the k for which mean - k sd to mean + k sd holds ``coverage`` with ``confidence``.

    With the sample mean x standard deviations off the true one, an interval of half-width r(x) standard
    deviations is needed, where Phi(x + r) - Phi(x - r) = coverage; k sd is long enough when chi-squared
    exceeds df r(x)**2 / k**2. The risk of falling short is that probability's complement, averaged over x.

    Examples
    --------
    >>> round(two_sided(30, 0.95, 0.95), 4)
    2.5549
    """
    if coverage < NARROWEST:
        raise _beyond(n, coverage, confidence)
    df = n - 1
    chi = np.sqrt(special.chdtri(df, confidence) / df)  # the sd undercut with probability 1 - confidence
    shortest = -special.ndtri((1 - coverage) / 2)  # half-width about the true mean
    z, weight = _normal_nodes()
    need = _half_width(z / np.sqrt(n), coverage)
    beyond = confidence < 0.5  # the smaller of the two probabilities keeps its digits
    aim = confidence if beyond else 1 - confidence

    def excess(shrink: float) -> float:
        return float(weight @ _chi_squared_tail(df, (need * shrink) ** 2, beyond=beyond)) - aim

    # Were the mean known, k would be shortest / chi; the unknown mean makes it longer, so 1 / k smaller. A little
    # room keeps rounding from hiding the root where n is so large that the mean is known.
    longest = 1.001 * chi / shortest
    return 1 / float(optimize.brentq(excess, 0.0, longest, xtol=1e-15 * longest, rtol=1e-14))


def _chi_squared_tail(df: int, share: Floats, *, beyond: bool) -> Floats:
    """Probability that chi-squared exceeds, or falls short of, a share of its degrees of freedom.

    For very many degrees of freedom the incomplete gamma function of scipy loses its digits far out, and the cube
    root of chi-squared is normal to ten digits of the factor (Wilson and Hilferty 1931, from memory).
    """
    if df < MANY:
        tail = special.gammaincc if beyond else special.gammainc
        return np.asarray(tail(df / 2, df / 2 * share), dtype=np.float64)
    variance = 2 / (9 * df)
    z = (np.cbrt(share) - (1 - variance)) / np.sqrt(variance)
    return np.asarray(special.ndtr(-z if beyond else z), dtype=np.float64)


def _beyond(n: int, coverage: float, confidence: float) -> ValueError:
    return ValueError(
        "coverage and confidence must lie further inside 0 and 1 for a factor that can be computed; "
        f"got {coverage!r} and {confidence!r} with n {n}."
    )


@lru_cache(maxsize=1)
def _normal_nodes() -> tuple[Floats, Floats]:
    """Points and weights of the average over the size of a standard normal error."""
    points, weights = np.polynomial.legendre.leggauss(NODES)
    z = (points + 1) * FAR / 2
    return z, weights * FAR / 2 * np.sqrt(2 / np.pi) * np.exp(-z * z / 2)


def _half_width(offset: Floats, coverage: float) -> Floats:
    """r for which a normal interval, ``offset`` off the mean, from -r to +r holds ``coverage``."""

    def shortfall(r: Floats, x: Floats) -> Floats:
        outside: Floats = special.ndtr(-x - r) + special.ndtr(x - r)
        return outside - (1 - coverage)

    # The ends are roots themselves far out and at offset 0: a little room keeps rounding from hiding them.
    low = np.maximum(offset + special.ndtri(coverage) - 0.01, 0.0)
    high = offset + special.ndtri((1 + coverage) / 2) + 0.01
    found = elementwise.find_root(
        shortfall,
        (low, high),
        args=(offset,),
        tolerances={"xrtol": 1e-15, "xatol": 0, "fatol": 0, "frtol": 0},
    )
    return np.asarray(found.x, dtype=np.float64)
