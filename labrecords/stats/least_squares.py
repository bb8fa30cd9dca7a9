"""Polynomials fitted by least squares without rounding: normal equations in whole numbers lose no digits."""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from labrecords.stats.checked import Floats
from labrecords.stats.exact import exact, whole_numbers

Matrix = list[list[Fraction]]


@dataclass(frozen=True)
class Polynomial:
    """A fitted polynomial.

    Attributes
    ----------
    coefficients : list of Fraction
        From the constant up.
    inverse : list of list of Fraction
        Inverse of the normal equations' matrix: covariances of the coefficients over the residual variance.
    squares, total : Fraction
        Sum of squared residuals, and of squared deviations from the mean.
    df : int
        Degrees of freedom of the residuals.
    """

    coefficients: list[Fraction]
    inverse: Matrix
    squares: Fraction
    total: Fraction
    df: int

    def at(self, x: float) -> Fraction:
        """Return the polynomial's value."""
        return sum((part * Fraction(x) ** power for power, part in enumerate(self.coefficients)), Fraction(0))

    def leverage(self, x: float) -> Fraction:
        """Return the variance of that value over the residual variance."""
        powers = [Fraction(x) ** power for power in range(len(self.coefficients))]
        return sum(
            (
                part * left * right
                for row, left in zip(self.inverse, powers, strict=True)
                for part, right in zip(row, powers, strict=True)
            ),
            Fraction(0),
        )


@dataclass(frozen=True)
class PureError:
    """Scatter of y at equal x: sum of squares, its degrees of freedom, and how many x differ."""

    squares: Fraction
    df: int
    distinct: int


def polynomial(x: Floats, y: Floats, *, degree: int) -> Polynomial:
    """Fit a polynomial to at least degree + 2 checked points with at least degree + 1 different x.

    Examples
    --------
    >>> found = polynomial(np.array([0.0, 1, 2, 3]), np.array([1.0, 2, 4, 5]), degree=1)
    >>> [float(part) for part in found.coefficients], float(found.squares)
    ([0.9, 1.4], 0.2)
    """
    across, unit_x = whole_numbers(x)
    up, unit_y = whole_numbers(y)
    terms = range(degree + 1)
    powers = [Fraction(sum(value**power for value in across)) for power in range(2 * degree + 1)]
    inverse = _inverse([[powers[row + column] for column in terms] for row in terms])
    products = [sum(value**power * other for value, other in zip(across, up, strict=True)) for power in terms]
    whole = [sum((part * product for part, product in zip(row, products, strict=True)), Fraction(0)) for row in inverse]
    explained = sum((part * product for part, product in zip(whole, products, strict=True)), Fraction(0))
    return Polynomial(
        coefficients=[part * unit_y / unit_x**power for power, part in enumerate(whole)],
        inverse=[[inverse[row][column] / unit_x ** (row + column) for column in terms] for row in terms],
        squares=(sum(value * value for value in up) - explained) * unit_y**2,
        total=exact(y).squares,
        df=len(up) - degree - 1,
    )


def pure_error(x: Floats, y: Floats) -> PureError:
    """Return the scatter of y about its mean at each x."""
    distinct = np.unique(x)
    squares = sum((exact(y[x == place]).squares for place in distinct), Fraction(0))
    return PureError(squares=squares, df=x.size - distinct.size, distinct=distinct.size)


def _inverse(matrix: Matrix) -> Matrix:
    """By elimination; the leading minors of normal equations are above 0, so no rows need to be exchanged."""
    size = len(matrix)
    rows = [[*row, *(Fraction(place == other) for other in range(size))] for place, row in enumerate(matrix)]
    for place in range(size):
        pivot = [value / rows[place][place] for value in rows[place]]
        rows = [
            pivot if other == place else [value - row[place] * part for value, part in zip(row, pivot, strict=True)]
            for other, row in enumerate(rows)
        ]
    return [row[size:] for row in rows]
