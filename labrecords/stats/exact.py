"""Means and sums of squares without rounding: every double is a whole multiple of a power of two."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from labrecords.stats.checked import SMALLEST, Floats

MANTISSA = 53  # bits
LEAST_VARIANCE = Fraction(SMALLEST) ** 2
LARGEST_RATIO = 10**200


@dataclass(frozen=True)
class Exact:
    """Number of values, their mean, and the sum of their squared deviations from it."""

    n: int
    mean: Fraction
    squares: Fraction

    @property
    def variance(self) -> Fraction:
        """With n - 1 degrees of freedom."""
        return self.squares / (self.n - 1)


def exact(values: Floats) -> Exact:
    """Return mean and sum of squares of a checked array of at least 1 float, free of rounding.

    Examples
    --------
    >>> found = exact(np.array([1e15 + 0.25, 1e15 + 0.5, 1e15 + 0.75]))
    >>> float(found.squares), found.mean == 10**15 + Fraction(1, 2)
    (0.125, True)
    """
    return _sums(*whole_numbers(values))


def exact_deviations(values: Floats) -> Exact:
    """Return the same of the absolute deviations from the median."""
    whole, unit = whole_numbers(values)
    ranked = sorted(whole)
    twice_median = ranked[(len(ranked) - 1) // 2] + ranked[len(ranked) // 2]
    return _sums([abs(2 * value - twice_median) for value in whole], unit / 2)


def whole_numbers(values: Floats) -> tuple[list[int], Fraction]:
    """Return whole numbers and the power of two, the unit, that they count.

    Examples
    --------
    >>> whole, unit = whole_numbers(np.array([0.5, 0.75]))
    >>> [float(value * unit) for value in whole]
    [0.5, 0.75]
    """
    mantissa, exponent = np.frexp(values)
    least = int(exponent.min())
    whole = np.ldexp(mantissa, MANTISSA).astype(np.int64).tolist()
    return [value << shift for value, shift in zip(whole, (exponent - least).tolist(), strict=True)], Fraction(2) ** (
        least - MANTISSA
    )


def root(value: Fraction) -> float:
    """Return the square root of a fraction, 0 or more, also where the fraction is out of the range of doubles.

    Examples
    --------
    >>> root(Fraction(10) ** -400)
    1e-200
    """
    half = (value.numerator.bit_length() - value.denominator.bit_length()) // 2
    return math.ldexp(math.sqrt(value / Fraction(4) ** half), half)


def varies(variance: Fraction) -> bool:
    """Whether a variance is more than that of values which pass for equal."""
    return variance >= LEAST_VARIANCE


def quotient(above: Fraction, below: Fraction) -> float:
    """Return a ratio of variances, refusing one of more than 1e200."""
    if above > below * LARGEST_RATIO:
        raise ValueError(f"variances must be within 1e200 of each other; got {float(above):g} and {float(below):g}.")
    return float(above / below)


def pooled(groups: Sequence[Exact]) -> tuple[Fraction, int]:
    """Return the variance within groups, and its degrees of freedom.

    Raises
    ------
    ValueError
        If no group has any spread.
    """
    df = sum(group.n - 1 for group in groups)
    variance = sum((group.squares for group in groups), Fraction(0)) / df
    if not varies(variance):
        raise ValueError("the groups must not each hold equal values; got no spread within any of them.")
    return variance, df


def _sums(whole: list[int], unit: Fraction) -> Exact:
    n, total = len(whole), sum(whole)
    squares = n * sum(value * value for value in whole) - total * total
    return Exact(n=n, mean=Fraction(total, n) * unit, squares=Fraction(squares, n) * unit * unit)
