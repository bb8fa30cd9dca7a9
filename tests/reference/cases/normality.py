"""Tests of normality: R's nortest and shapiro.test, a NIST set, and published examples."""

from collections.abc import Iterator
from functools import partial

from labrecords.stats import normality
from tests.reference import tables, univariate
from tests.reference.case import Case

COMPUTED = "computed from the printed data (NIST ZARR13)"
R_VERSION = "R 4.2.2"

# scipy's own tests (test_morestats, TestShapiro), from memory.
CARRIED = [0.11, 7.87, 4.61, 10.14, 7.95, 3.14, 0.46, 4.43, 0.21, 4.75]
CARRIED += [0.71, 1.52, 3.24, 0.93, 0.42, 4.97, 9.53, 4.55, 0.47, 6.66]
PRINTED = [
    ("anderson_darling", "zarr13", "statistic", "0.126479", COMPUTED),
    ("anderson_darling", "zarr13", "adjusted", "0.126973", COMPUTED),
    ("anderson_darling", "zarr13", "p_value", "0.985", COMPUTED),
    ("shapiro_wilk", "zarr13", "statistic", "0.998272", COMPUTED),
    ("shapiro_wilk", "zarr13", "p_value", "0.9992", COMPUTED),
    ("shapiro_wilk", "weights of men", "statistic", "0.79", "Shapiro and Wilk (1965), from memory"),
]


def every_case() -> Iterator[Case]:
    """Printed numbers, then R's at full precision."""
    for test, name, field, printed, source in PRINTED:
        yield Case(f"normality.{test}", source, printed, partial(_field, test, univariate.sets()[name], field))
    for field, printed in (("statistic", "0.900473"), ("p_value", "0.042090")):
        compute = partial(_field, "shapiro_wilk", CARRIED, field)
        yield Case("normality.shapiro_wilk", "scipy's own tests, from memory", printed, compute)
    for name, test, statistic, p_value in tables.rows("r_normality.csv")[1:]:
        source = f"{R_VERSION}, nortest 1.0.4" if test == "anderson_darling" else f"{R_VERSION}, shapiro.test"
        # Royston's approximation is no exact definition: two programs of it part at the ninth digit.
        digits = 12 if test == "anderson_darling" else 8
        for field, value in (("statistic", statistic), ("p_value", p_value)):
            compute = partial(_field, test, univariate.sets()[name], field)
            yield Case(f"normality.{test}", source, float(value), compute, digits)


def _field(test: str, values: list[float], field: str) -> float:
    return getattr(getattr(normality, test)(values), field)
