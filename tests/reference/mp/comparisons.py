"""Dunnett's distribution and the studentised range to 15 digits, straight from their definitions, in mpmath.

`python -m tests.reference.mp.comparisons` writes tests/reference/data/mp_comparisons.csv (some minutes). Nothing of
labrecords and nothing of scipy is used. Both are the probability that no statistic is beyond the limit, averaged over
the common error and over the standard deviation; integrands are smooth and die away at both ends of the line, so the
trapezoid rule is used, its step halved until two answers agree to 15 decimals.
"""

from collections.abc import Callable, Iterator
from functools import lru_cache
from pathlib import Path

import mpmath
from mpmath import mp, mpf

TABLE = Path(__file__).parents[1] / "data" / "mp_comparisons.csv"
WORKING, AGREED, PRINTED = 24, 15, 15  # digits
DUNNETT = (  # reference, others, df, statistic
    (6, (6, 6, 6), "20", "2.54"),
    (6, (6, 6, 6), "20", "5"),
    (10, (8, 9, 6), "29", "2.4"),
    (2, (20, 15), "34", "2.3"),
    (10, (10, 10), "27", "0.5"),
    (10, (10, 10), "27", "7.5"),
    (4, (4,) * 9, "2", "6"),
)
RANGE = (  # groups, df, statistic
    (3, "10", "3.877"),
    (4, "29", "3.85"),
    (4, "7.7", "4"),
    (10, "60", "4.646"),
    (3, "27", "9"),
    (20, "3", "0.9"),
)
CRITICAL = ("0.05",)


def dunnett(limit: mpf, *, reference: int, others: tuple[int, ...], df: str) -> mpf:
    """P(any abs(t) > limit): given the reference's error z and the standard deviation s, the groups are independent."""
    shares = [mp.sqrt(mpf(n) / (n + reference)) for n in others]

    def none_beyond(s: mpf, step: mpf) -> mpf:
        own = [mp.sqrt(1 - share**2) for share in shares]

        def held(z: mpf) -> mpf:
            inside = mp.npdf(z) * step
            for share, rest in zip(shares, own, strict=True):
                inside *= _between((share * z - limit * s) / rest, (share * z + limit * s) / rest)
            return inside

        return mp.fsum(held(z) for z in _line(step, 10))

    return 1 - _settled(none_beyond, mpf(df))


def studentised_range(limit: mpf, *, groups: int, df: str) -> mpf:
    """P(range / s > limit): given the largest error z, the others lie between z - limit s and z."""

    def none_beyond(s: mpf, step: mpf) -> mpf:
        def held(z: mpf) -> mpf:
            return groups * mp.npdf(z) * step * _between(z - limit * s, z) ** (groups - 1)

        return mp.fsum(held(z) for z in _line(step, 10))

    return 1 - _settled(none_beyond, mpf(df))


def critical(upper: Callable[[mpf], mpf], tail: mpf, start: str) -> mpf:
    """The limit exceeded with a given probability, by the secant rule on the probability's logarithm."""
    left, right = mpf(start), mpf(start) * mpf("1.005")
    low, high = (mp.log(upper(x) / tail) for x in (left, right))
    while abs(right / left - 1) > mpf(10) ** -8:  # the next step squares it, nearly
        left, right = right, right - high * (right - left) / (high - low)
        low, high = high, mp.log(upper(right) / tail)
    return right - high * (right - left) / (high - low)


def _settled(inner: Callable[[mpf, mpf], mpf], df: mpf) -> mpf:
    step, before = mpf(1) / 4, None
    while True:
        found = mp.fsum(weight * inner(s, step) for s, weight in _chi_nodes(df, step / mp.sqrt(df + 2) * 2))
        if before is not None and abs(found - before) < mpf(10) ** -AGREED:
            return found
        step, before = step / 2, found


def _chi_nodes(df: mpf, step: mpf) -> Iterator[tuple[mpf, mpf]]:
    """Points s = exp(u) and their weights by the density of sqrt(chi-squared / df), u in equal steps."""
    constant = mp.log(2) + df / 2 * mp.log(df / 2) - mp.loggamma(df / 2) + mp.log(step)
    for sign in (1, -1):
        place = 0 if sign > 0 else -1
        while (weight := mp.exp(constant + df * place * step - df / 2 * mp.exp(2 * place * step))) > mpf(10) ** -28:
            yield mp.exp(place * step), weight
            place += sign


def _line(step: mpf, end: int) -> Iterator[mpf]:
    reach = int(end / step)
    return (place * step for place in range(-reach, reach + 1))


@lru_cache(maxsize=1 << 16)
def _below(x: mpf) -> mpf:
    return mp.ncdf(x)


def _between(low: mpf, high: mpf) -> mpf:
    return _below(high) - _below(low)


def rows() -> Iterator[str]:
    """Lines of the table."""
    for reference, others, df, limit in DUNNETT:
        value = dunnett(mpf(limit), reference=reference, others=others, df=df)
        yield _row("dunnett", reference, " ".join(map(str, others)), df, limit, value)
    for groups, df, limit in RANGE:
        yield _row("range", groups, "", df, limit, studentised_range(mpf(limit), groups=groups, df=df))
    for tail in CRITICAL:
        found = critical(lambda x: dunnett(x, reference=10, others=(10, 10), df="27"), mpf(tail), "2.33")
        yield _row("dunnett critical", 10, "10 10", "27", tail, found)
        found = critical(lambda x: studentised_range(x, groups=3, df="27"), mpf(tail), "3.5")
        yield _row("range critical", 3, "", "27", tail, found)


def _row(kind: str, first: int, others: str, df: str, given: str, value: mpf) -> str:
    return f"{kind},{first},{others},{df},{given},{mp.nstr(value, PRINTED, strip_zeros=False)}"


def main() -> None:
    """Write the table."""
    with mp.workdps(WORKING), TABLE.open("w", encoding="utf-8") as table:
        table.write(f"# made by tests/reference/mp/comparisons.py, mpmath {mpmath.__version__}, {WORKING} digits\n")
        table.write("kind,first,others,df,given,value\n")
        for row in rows():
            table.write(row + "\n")
            table.flush()


if __name__ == "__main__":
    main()
