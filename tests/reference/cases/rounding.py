"""Rounding for reports: examples of the standards, and exact fractions."""

import random
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from functools import partial

from labrecords.stats import rounding
from tests.reference.case import Case

ISO = "ISO 80000-1:2009, Annex B, rule A, from memory"
GUM = "JCGM 100:2008, 7.2.2 and 7.2.6, from memory"
EXACT = "exact fractions, ties to even"

# Value, and the uncertainty whose last digit stands at the place wanted.
PLACES = [
    ("12.223", "1.0", "12.2"),
    ("12.251", "1.0", "12.3"),
    ("12.275", "1.0", "12.3"),
    ("12.25", "1.0", "12.2"),
    ("12.35", "1.0", "12.4"),
    ("1222.3", "100", "1220"),
    ("1225.1", "100", "1230"),
    ("1227.5", "100", "1230"),
    ("1225.0", "100", "1220"),
    ("1235.0", "100", "1240"),
]


def every_case() -> Iterator[Case]:
    """Examples, then random numbers at random places."""
    for value, uncertainty, printed in PLACES:
        yield Case("rounding.report_digits", ISO, printed, partial(_rounded, Decimal(value), Decimal(uncertainty)))
    yield Case("rounding.report_digits", GUM, "10.058", partial(_rounded, 10.05762, 0.027))
    yield Case("rounding.report_digits", GUM, "100.02147", partial(_rounded, 100.02147, 0.00035))
    rng = random.Random(20240229)
    for _ in range(200):
        decimals = rng.randint(-3, 8)
        value = Decimal(rng.randint(-(10**9), 10**9)).scaleb(-decimals - rng.randint(0, 2))
        wanted = round(Fraction(value) * Fraction(10) ** decimals) / Fraction(10) ** decimals
        uncertainty = Decimal(rng.randint(10, 99)).scaleb(-decimals)
        yield Case("rounding.report_digits", EXACT, float(wanted), partial(_rounded, value, uncertainty), 15)


def _rounded(value: float | Decimal, uncertainty: float | Decimal) -> float:
    return float(rounding.report_digits(value, uncertainty=uncertainty))
