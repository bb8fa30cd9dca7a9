"""Tolerance factors and confidences to 50 digits, straight from their definitions, in mpmath.

`python -m tests.reference.mp.tolerance` writes tests/reference/data/mp_tolerance.csv (half an hour). Nothing
of labrecords and nothing of scipy is used. Every integral runs over the whole line with an integrand that is smooth
and dies away at both ends, where the trapezoid rule gains digits in proportion to the number of points [1]_; the
step is halved until two answers agree to 45 digits.

References
----------
.. [1] Trefethen and Weideman (2014), The exponentially convergent trapezoidal rule, SIAM Review 56(3), from memory.
"""

import itertools
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path

import mpmath
from mpmath import mp, mpf

TABLE = Path(__file__).parents[1] / "data" / "mp_tolerance.csv"
SIZES = (2, 3, 5, 10, 30, 59, 100, 300, 1000)
COVERAGES = ("0.8", "0.9", "0.95", "0.99", "0.999", "0.9999")
CONFIDENCES = ("0.8", "0.9", "0.95", "0.99", "0.999")
POOLED = ((1, "4"), (1, "20.5"), (5, "1.5"), (5, "40"), (30, "12"), (30, "200"), (100, "99.5"))  # n and df
WORKING, AGREED, PRINTED = 55, 45, 20  # digits


def one_sided(n: int, df: str, coverage: str, confidence: str) -> mpf:
    """k for which P(Z + z_coverage sqrt(n) <= k sqrt(n) s) is the confidence, s the root of chi-squared over df."""
    df, target = mpf(df), mpf(confidence)
    root = mp.sqrt(n)
    shift = _normal_quantile(coverage) * root

    def lacking(t: mpf, step: mpf) -> tuple[mpf, mpf]:
        nodes = _chi_nodes(df, step)
        arguments = [(s, weight, t * s - shift) for s, weight in nodes]
        reached = mp.fsum(weight * mp.ncdf(x) for _, weight, x in arguments)
        slope = mp.fsum(weight * s * mp.npdf(x) for s, weight, x in arguments)
        return reached - target, slope

    start = shift / mp.sqrt(_low_chi_squared(df, confidence) / df)
    return _settled(lacking, start, step=mpf(1) / (8 * mp.sqrt(df + 2))) / root


def two_sided(n: int, coverage: str, confidence: str) -> mpf:
    """k for which mean - k s to mean + k s holds the coverage with the confidence, averaged over the mean's error."""
    df, target = n - 1, mpf(confidence)
    a = mpf(df) / 2
    log_gamma = mp.loggamma(a)

    def lacking(k: mpf, step: mpf) -> tuple[mpf, mpf]:
        reached, slope = mpf(0), mpf(0)
        for half_width, weight in _mean_nodes(n, coverage, step):
            y = a * (half_width / k) ** 2  # half of the least chi-squared that is enough
            density = mp.exp(a * mp.log(y) - y - log_gamma)  # of y, times y
            reached += weight * (1 - density / a * mp.hyp1f1(1, a + 1, y))
            slope += weight * density * 2 / k
        return reached - target, slope

    start = _normal_quantile(coverage, two_sided=True) / mp.sqrt(_low_chi_squared(mpf(df), confidence) / df)
    return _settled(lacking, start, step=mpf(1) / 8)


def order_statistic(n: int, coverage: str, confidence: str) -> tuple[int, mpf]:
    """The largest rank that is enough, and P(at least that many of n lie in the share 1 - coverage)."""
    beyond, rank = 1 - mpf(coverage), 0
    achieved = reached = 1 - mpf(coverage) ** n
    while reached >= mpf(confidence):
        rank, achieved = rank + 1, reached
        reached -= mp.binomial(n, rank) * beyond**rank * mpf(coverage) ** (n - rank)
    return rank, achieved


def _settled(lacking, start: mpf, *, step: mpf) -> mpf:
    """The root at which halving the step of the integral changes nothing."""
    root = _root(lambda x: lacking(x, step), start)
    while True:
        step /= 2
        finer = _root(lambda x, step=step: lacking(x, step), root)
        if abs(finer / root - 1) < mpf(10) ** -AGREED:
            return finer
        root = finer


def _root(function, start: mpf) -> mpf:
    """The positive root of a rising function: brackets by doubling, then Newton's steps kept within them."""
    low, high = mpf(0), mp.inf
    x = start
    for _ in range(200):
        value, slope = function(x)
        low, high = (x, high) if value < 0 else (low, x)
        new = x - value / slope if slope else mp.inf
        if abs(new / x - 1) < mpf(10) ** -(AGREED + 5):
            return new
        x = new if low < new < high else (low + high) / 2 if high < mp.inf else 2 * x
    raise ArithmeticError("no root was found")


@lru_cache(maxsize=4)
def _chi_nodes(df: mpf, step: mpf) -> list[tuple[mpf, mpf]]:
    """Points s = exp(u) and their weights by the density of sqrt(chi-squared / df), u in equal steps."""
    constant = mp.log(2) + df / 2 * mp.log(df / 2) - mp.loggamma(df / 2) + mp.log(step)

    def weight(u: mpf) -> mpf:
        return mp.exp(constant + df * u - df / 2 * mp.exp(2 * u))

    return [(mp.exp(u), share) for u, share in _until_nothing(weight, step)]


@lru_cache(maxsize=4)
def _mean_nodes(n: int, coverage: str, step: mpf) -> list[tuple[mpf, mpf]]:
    """Half-widths that are needed, and their weights by the normal density of the mean's error."""
    root, half = mp.sqrt(n), _normal_quantile(coverage, two_sided=True)
    nodes = []
    z = mpf(0)
    while (weight := step * mp.npdf(z) * (1 if z == 0 else 2)) > mpf(10) ** -WORKING:
        half = _half_width(z / root, mpf(coverage), half)
        nodes.append((half, weight))
        z += step
    return nodes


def _half_width(offset: mpf, coverage: mpf, start: mpf) -> mpf:
    """r for which Phi(offset + r) - Phi(offset - r) is the coverage."""

    def lacking(r: mpf) -> tuple[mpf, mpf]:
        held = mp.ncdf(offset + r) - mp.ncdf(offset - r)
        return held - coverage, mp.npdf(offset + r) + mp.npdf(offset - r)

    return _root(lacking, start)


def _until_nothing(weight, step: mpf) -> Iterator[tuple[mpf, mpf]]:
    for sign in (1, -1):
        place = 0 if sign > 0 else -1
        while (share := weight(place * step)) > mpf(10) ** -WORKING:
            yield place * step, share
            place += sign


@lru_cache
def _normal_quantile(coverage: str, *, two_sided: bool = False) -> mpf:
    share = 1 - mpf(coverage)
    return mp.sqrt(2) * mp.erfinv(1 - (share if two_sided else 2 * share))


def _low_chi_squared(df: mpf, confidence: str) -> mpf:
    """Roughly the chi-squared exceeded with the confidence (Wilson and Hilferty's cube): a place to start from."""
    spread = 2 / (9 * df)
    return df * max(1 - spread - _normal_quantile(confidence) * mp.sqrt(spread), mpf("0.03")) ** 3


def claims() -> Iterator[tuple[str, int, str, str, str]]:
    """Kind, n, degrees of freedom, coverage and confidence of every row."""
    shares = list(itertools.product(COVERAGES, CONFIDENCES))
    for kind in ("one-sided", "two-sided", "order statistic"):
        for n, (coverage, confidence) in itertools.product(SIZES, shares):
            yield kind, n, str(n - 1), coverage, confidence
    for (n, df), (coverage, confidence) in itertools.product(POOLED, shares[::6]):
        yield "one-sided", n, df, coverage, confidence


def row(kind: str, n: int, df: str, coverage: str, confidence: str) -> str | None:
    """One line of the table; None where n is too small for any order statistic."""
    rank: int | str = ""
    if kind == "one-sided":
        value = one_sided(n, df, coverage, confidence)
    elif kind == "two-sided":
        value = two_sided(n, coverage, confidence)
    else:
        rank, value = order_statistic(n, coverage, confidence)
        if rank == 0:
            return None
    return f"{kind},{n},{df},{coverage},{confidence},{rank},{mp.nstr(value, PRINTED, strip_zeros=False)}"


def main() -> None:
    """Write the table, going on from what an interrupted run has left."""
    left = TABLE.read_text(encoding="utf-8").splitlines()[2:] if TABLE.exists() else []
    done = {tuple(line.split(",")[:5]): line for line in left}
    with mp.workdps(WORKING), TABLE.open("w", encoding="utf-8") as table:
        table.write(f"# made by tests/reference/mp/tolerance.py, mpmath {mpmath.__version__}, {WORKING} digits\n")
        table.write("kind,n,df,coverage,confidence,rank,value\n")
        for claim in claims():
            line = done.get(tuple(str(part) for part in claim)) or row(*claim)
            if line:
                table.write(line + "\n")
                table.flush()


if __name__ == "__main__":
    main()
