"""The non-central t distribution in mpmath, from its definition: (z + shift) / s, averaged over s.

s is the root of chi-squared over its degrees of freedom; with u = log s the integrand is smooth and dies away at both
ends, where the trapezoid rule gains digits in proportion to the number of points. Nothing of labrecords and nothing of
scipy is used.
"""

from collections.abc import Callable, Iterator

from mpmath import mp, mpf

WORKING, AGREED, PRINTED = 32, 24, 20  # digits


def below(t: mpf, df: int, shift: mpf) -> mpf:
    """P(T <= t)."""
    return averaged(lambda s: mp.ncdf(t * s - shift), df, slope=t)


def both(t: mpf, df: int, low: mpf, high: mpf) -> mpf:
    """P(low + t s <= z <= high - t s): by parts over z, where no corner is."""
    middle = (low + high) / 2

    def left(z: mpf) -> mpf:
        return mp.npdf(z) * _s_below((z - low) / t, df)

    def right(z: mpf) -> mpf:
        return mp.npdf(z) * _s_below((high - z) / t, df)

    start, end = max(low, mpf(-13)), min(high, mpf(13))
    middle = min(max(middle, start), end)
    return mp.quad(left, mp.linspace(start, middle, 9)) + mp.quad(right, mp.linspace(middle, end, 9))


def averaged(function: Callable[[mpf], mpf], df: int, *, slope: mpf) -> mpf:
    """The mean of a function of s; the step is halved until nothing changes."""
    step = 1 / (4 * mp.sqrt(df + 2) + abs(slope) / 4)
    found = mp.fsum(weight * function(s) for s, weight in _nodes(df, step))
    while True:
        step /= 2
        finer = mp.fsum(weight * function(s) for s, weight in _nodes(df, step))
        if abs(finer - found) < mpf(10) ** -AGREED:
            return finer
        found = finer


def t_quantile(tail: mpf, df: int) -> mpf:
    """The t exceeded with probability ``tail``."""
    start = mp.sqrt(2) * mp.erfinv(1 - 2 * tail) * (1 + 1 / mpf(df)) if df > 2 else mpf(1) / (4 * tail)
    return mp.findroot(lambda t: mp.log(_t_beyond(t, df) / tail), start)


def _t_beyond(t: mpf, df: int) -> mpf:
    return mp.betainc(mpf(df) / 2, mpf(1) / 2, 0, df / (df + t * t), regularized=True) / 2


def _s_below(s: mpf, df: int) -> mpf:
    return mp.gammainc(mpf(df) / 2, 0, df * s * s / 2, regularized=True)


def _nodes(df: int, step: mpf) -> Iterator[tuple[mpf, mpf]]:
    constant = mp.log(2) + mpf(df) / 2 * mp.log(mpf(df) / 2) - mp.loggamma(mpf(df) / 2) + mp.log(step)
    for sign in (1, -1):
        place = 0 if sign > 0 else -1
        while True:
            u = place * step
            weight = mp.exp(constant + df * u - df * mp.exp(2 * u) / 2)
            if weight < mpf(10) ** -(WORKING - 4):
                break
            yield mp.exp(u), weight
            place += sign
