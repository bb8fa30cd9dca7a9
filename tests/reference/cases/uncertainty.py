"""Uncertainty budgets: the GUM's own examples and table of t, quantiles by R and mpmath."""

import functools
import math
from collections.abc import Iterator

import mpmath
import numpy as np

from labrecords.stats.uncertainty import Budget, Contribution, combine
from tests.reference.case import Case
from tests.reference.tables import rows

H1 = "JCGM 100:2008 H.1, from memory"
H2 = "JCGM 100:2008 H.2, from memory"
G2 = "JCGM 100:2008 table G.2, from memory"
QUANTILES = {  # coverage 0.6827, 0.95, 0.9545, 0.99
    1: "1.84 12.71 13.97 63.66",
    2: "1.32 4.30 4.53 9.92",
    3: "1.20 3.18 3.31 5.84",
    5: "1.11 2.57 2.65 4.03",
    10: "1.05 2.23 2.28 3.17",
    16: "1.03 2.12 2.17 2.92",
    20: "1.03 2.09 2.13 2.85",
    50: "1.01 2.01 2.05 2.68",
    math.inf: "1.000 1.960 2.000 2.576",
}
VOLTAGE = [5.007, 4.994, 5.005, 4.990, 4.999]  # V
CURRENT = [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3]  # A
PHASE = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433]  # rad


def every_case() -> Iterator[Case]:
    yield from _end_gauge()
    yield from _impedance()
    yield from _factors()


def end_gauge() -> Budget:
    """The end gauge of H.1, in nm: standard, comparison, coefficients of expansion, temperatures."""
    return combine(
        [
            Contribution("standard", "normal", u=25, df=18),
            Contribution("readings", "normal", u=5.8, df=24),
            Contribution("comparator, random", "normal", u=3.9, df=5),
            Contribution("comparator, systematic", "normal", u=6.7, df=8),
            Contribution("expansion", "rectangular", half_width=1e-6, df=50, sensitivity=50e6 * 0.1),
            Contribution("temperature", "rectangular", half_width=0.05, df=2, sensitivity=50e6 * 11.5e-6),
        ],
        coverage=0.99,
    )


def impedance(slopes: tuple[float, float, float]) -> Budget:
    """Resistance, reactance or impedance of H.2: three quantities read together five times."""
    read = {"voltage": VOLTAGE, "current": CURRENT, "phase": PHASE}
    matrix = np.corrcoef(list(read.values()))
    lines = [
        Contribution(name, "values", values=values, sensitivity=slope)
        for (name, values), slope in zip(read.items(), slopes, strict=True)
    ]
    pairs = {("voltage", "current"): (0, 1), ("voltage", "phase"): (0, 2), ("current", "phase"): (1, 2)}
    return combine(lines, correlations={pair: float(matrix[place]) for pair, place in pairs.items()})


def _end_gauge() -> Iterator[Case]:
    found = functools.cache(end_gauge)
    for text, get in {
        "32": lambda: found().combined,
        "2.92": lambda: found().factor_truncated,
        # the GUM multiplies the rounded 2.92 by the rounded 32
        "93": lambda: round(found().factor_truncated, 2) * round(found().combined),
        "2.9": lambda: found().contributions[4].contribution,
    }.items():
        yield Case("uncertainty.combine", H1, text, get)
    # printed as 16.7, from rounded figures; then cut to 16, which the 2.92 above belongs to
    yield Case("uncertainty.combine", H1, 16.7, lambda: found().effective_df, 2.4)


def _impedance() -> Iterator[Case]:
    v, i, phi = np.mean(VOLTAGE), np.mean(CURRENT), np.mean(PHASE)
    z = v / i
    slopes = {
        "0.071": (np.cos(phi) / i, -z * np.cos(phi) / i, -z * np.sin(phi)),
        "0.295": (np.sin(phi) / i, -z * np.sin(phi) / i, z * np.cos(phi)),
        "0.236": (1 / i, -z / i, 0.0),
    }
    each = {  # the same by the other way of H.2: the standard error of five results
        "0.071": np.divide(VOLTAGE, CURRENT) * np.cos(PHASE),
        "0.295": np.divide(VOLTAGE, CURRENT) * np.sin(PHASE),
        "0.236": np.divide(VOLTAGE, CURRENT),
    }
    for text, slope in slopes.items():
        # The reactance comes as 0.2956; the GUM, as remembered, prints 0.295 by either way.
        expected = 0.295 if text == "0.295" else text
        yield Case("uncertainty.combine", H2, expected, lambda slope=slope: impedance(slope).combined, 2.5)
        error = float(np.std(each[text], ddof=1) / math.sqrt(5))
        get = lambda slope=slope: impedance(slope).combined  # noqa: E731 - asked later
        yield Case("uncertainty.combine", "standard error of the results, first order", error, get, 2.5)


def _factors() -> Iterator[Case]:
    for df, texts in QUANTILES.items():
        for coverage, text in zip((0.6827, 0.95, 0.9545, 0.99), texts.split(), strict=True):
            get = lambda df=df, coverage=coverage: _factor(df, coverage)  # noqa: E731 - asked later
            yield Case("uncertainty.combine", G2, text, get)
    for coverage, df, factor in rows("r_uncertainty.csv")[1:]:
        get = lambda df=float(df), coverage=float(coverage): _factor(df, coverage)  # noqa: E731 - asked later
        yield Case("uncertainty.combine", "R 4.2.2 qt", float(factor), get, 11.0)
    for df, coverage in [(1.5, 0.9545), (16.7, 0.99), (7.25, 0.999999)]:
        get = lambda df=df, coverage=coverage: _factor(df, coverage)  # noqa: E731 - asked later
        yield Case("uncertainty.combine", "mpmath, 30 digits", _by_mpmath(df, coverage), get, 12.0)


def _factor(df: float, coverage: float) -> float:
    return combine([Contribution("only", "normal", u=1, df=df)], coverage=coverage).factor


def _by_mpmath(df: float, coverage: float) -> float:
    """Student's t that holds ``coverage`` between its two signs, by the incomplete beta function."""
    with mpmath.workdps(30):
        half = mpmath.mpf(df) / 2

        def outside(t):
            return mpmath.betainc(half, 0.5, 0, df / (df + t**2), regularized=True) - (1 - mpmath.mpf(coverage))

        return float(mpmath.findroot(outside, (_start(df, coverage), 1.01 * _start(df, coverage)), tol=1e-25))


def _start(df: float, coverage: float) -> float:
    return round(_factor(df, coverage), 2)
