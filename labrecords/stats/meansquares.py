"""Confidence intervals for sums and differences of mean squares."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from scipy import special

from labrecords.stats.interval import Interval

UNBOUNDED = 1e-6  # an upper limit a million times the estimate says nothing
FEWEST = 0.01  # with fewer degrees of freedom it is always further away


@dataclass(frozen=True)
class Term:
    """A mean square times its (signed) coefficient, with its degrees of freedom."""

    value: float
    df: float


def linear_interval(terms: Sequence[Term], *, confidence: float) -> Interval:
    """Return the interval of a sum of ``terms``, each mean square times a coefficient of either sign.

    Parameters
    ----------
    terms : sequence of Term
        Independent mean squares of normal data; a term of value 0 adds nothing.
    confidence : float
        Between 0 and 1, both left out.

    Returns
    -------
    Interval
        Cut at 0: what is estimated is a variance. Exact for one term; by modified large samples otherwise.

    Notes
    -----
    With terms of one sign only the method is Graybill and Wang's; with both, that of Ting and others. Its true
    confidence is close to the nominal for all variances, where Satterthwaite's is not for a difference.

    References
    ----------
    .. [1] Graybill and Wang (1980), Confidence intervals on nonnegative linear combinations of variances,
       Journal of the American Statistical Association 75, from memory.
    .. [2] Ting, Burdick, Graybill, Jeyaratnam, Lu (1990), Confidence intervals on linear combinations of
       variance components that are unrestricted in sign, Journal of Statistical Computation and Simulation
       35, from memory.
    .. [3] Burdick and Graybill (1992), Confidence Intervals on Variance Components, section 3.3, from memory.

    Examples
    --------
    >>> found = linear_interval([Term(4.0, 9), Term(-1.0, 20)], confidence=0.9)
    >>> round(found.low, 3), round(found.high, 3)
    (0.957, 9.806)
    """
    scale = max(abs(term.value) for term in terms) or 1.0  # squares of mean squares must stay within doubles
    tail = (1 - confidence) / 2
    plus = [Term(term.value / scale, term.df) for term in terms if term.value > 0]
    minus = [Term(-term.value / scale, term.df) for term in terms if term.value < 0]
    estimate = sum(term.value for term in plus) - sum(term.value for term in minus)
    low = estimate - math.sqrt(max(_below(plus, minus, tail), 0.0))
    high = estimate + math.sqrt(max(_above(plus, minus, tail), 0.0))
    return Interval(max(low, 0.0) * scale, max(high, 0.0) * scale)


def satterthwaite_interval(estimate: float, df: float, *, confidence: float) -> Interval | None:
    """Return the chi-squared interval of a variance of which only its estimate's precision is known.

    Parameters
    ----------
    estimate : float
        A variance.
    df : float
        Twice its square over the variance of the estimate; need not be whole.
    confidence : float
        Between 0 and 1, both left out.

    Returns
    -------
    Interval or None
        None where the estimate is 0, or so uncertain that it has no upper limit.

    References
    ----------
    .. [1] Searle, Casella, McCulloch (1992), Variance Components, section 4.3, from memory.

    Examples
    --------
    >>> found = satterthwaite_interval(4.0, 9, confidence=0.9)
    >>> round(found.low, 3), round(found.high, 3)
    (2.128, 10.827)
    """
    tail = (1 - confidence) / 2
    if not (estimate > 0 and df > FEWEST and _chi_below(df, tail) > UNBOUNDED):
        return None
    return Interval(estimate / _chi_above(df, tail), estimate / _chi_below(df, tail))


def _below(plus: list[Term], minus: list[Term], tail: float) -> float:
    """How far, squared, the lower limit lies below the estimate: V_L of [3]_."""
    own = sum((_g(term.df, tail) * term.value) ** 2 for term in plus)
    other = sum((_h(term.df, tail) * term.value) ** 2 for term in minus)
    mixed = sum(_g_mixed(p.df, m.df, tail) * p.value * m.value for p in plus for m in minus)
    return own + other + mixed + (_starred(plus, tail) if minus else 0.0)


def _above(plus: list[Term], minus: list[Term], tail: float) -> float:
    """How far, squared, the upper limit lies above the estimate: V_U of [3]_."""
    own = sum((_h(term.df, tail) * term.value) ** 2 for term in plus)
    other = sum((_g(term.df, tail) * term.value) ** 2 for term in minus)
    mixed = sum(_h_mixed(p.df, m.df, tail) * p.value * m.value for p in plus for m in minus)
    return own + other + mixed + (_starred(minus, tail) if plus else 0.0)


def _starred(terms: list[Term], tail: float) -> float:
    """Part of two terms of one sign; none where there is one."""
    pairs = [(a, b) for place, a in enumerate(terms) for b in terms[place + 1 :]]
    return sum(_g_pair(a.df, b.df, tail) * a.value * b.value for a, b in pairs) / max(len(terms) - 1, 1)


def _g(df: float, tail: float) -> float:
    return 1 - 1 / _chi_above(df, tail)


def _h(df: float, tail: float) -> float:
    return 1 / _chi_below(df, tail) - 1


def _g_mixed(df: float, other: float, tail: float) -> float:
    f = 1 / _f_below(other, df, tail)
    return ((f - 1) ** 2 - (_g(df, tail) * f) ** 2 - _h(other, tail) ** 2) / f


def _h_mixed(df: float, other: float, tail: float) -> float:
    f = _f_below(df, other, tail)
    return ((1 - f) ** 2 - (_h(df, tail) * f) ** 2 - _g(other, tail) ** 2) / f


def _g_pair(a: float, b: float, tail: float) -> float:
    both = (_g(a + b, tail) * (a + b)) ** 2 / (a * b)
    return both - _g(a, tail) ** 2 * a / b - _g(b, tail) ** 2 * b / a


# The same few quantiles are asked for again and again within one study.
@lru_cache(maxsize=512)
def _chi_above(df: float, tail: float) -> float:
    """Chi-squared over its degrees of freedom, exceeded with probability ``tail``."""
    return float(special.gammainccinv(df / 2, tail)) * 2 / df


@lru_cache(maxsize=512)
def _chi_below(df: float, tail: float) -> float:
    return float(special.gammaincinv(df / 2, tail)) * 2 / df


@lru_cache(maxsize=512)
def _f_below(df: float, df_divisor: float, tail: float) -> float:
    """Ratio of mean squares that is undercut with probability ``tail``."""
    share = float(special.betaincinv(df / 2, df_divisor / 2, tail))
    return df_divisor * share / (df * (1 - share))
