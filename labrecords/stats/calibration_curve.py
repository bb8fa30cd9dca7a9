"""The curve of a load cell: readings against applied forces, and the force that belongs to a reading."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import brentq

from labrecords.stats import checked
from labrecords.stats.least_squares import polynomial


@dataclass(frozen=True)
class CalibrationCurve:
    """A polynomial of readings against forces.

    Attributes
    ----------
    coefficients : tuple of float
        From the constant up.
    standard_errors : tuple of float
        Of the coefficients, in their order.
    residual_sd : float
        Standard deviation of the readings about the curve.
    df : int
        Degrees of freedom of the residuals.
    low, high : float
        Smallest and largest applied force.
    """

    coefficients: tuple[float, ...]
    standard_errors: tuple[float, ...]
    residual_sd: float
    df: int
    low: float
    high: float

    def reading(self, force: float) -> float:
        """Return the reading that the curve gives for a force."""
        return float(np.polynomial.polynomial.polyval(force, self.coefficients))

    def force(self, reading: float) -> float:
        """Return the force that belongs to a reading.

        Raises
        ------
        ValueError
            If the reading lies outside those of the smallest and the largest force: a curve says nothing there.

        Examples
        --------
        >>> curve = calibration_curve([1, 2, 3, 4], [0.1, 0.2, 0.3, 0.4001], degree=1)
        >>> round(curve.force(0.25), 3)
        2.5
        """
        reading = checked.finite(reading, name="reading")
        ends = sorted((self.reading(self.low), self.reading(self.high)))
        if not ends[0] <= reading <= ends[1]:
            raise ValueError(f"reading must lie from {ends[0]:g} to {ends[1]:g}, as calibrated; got {reading!r}.")
        return float(brentq(lambda force: self.reading(force) - reading, self.low, self.high, xtol=1e-13))


def calibration_curve(applied: ArrayLike, readings: ArrayLike, *, degree: int) -> CalibrationCurve:
    """Return the polynomial through the points of a calibration, by least squares.

    Parameters
    ----------
    applied : array_like, one-dimensional
        Applied forces; a force may come several times.
    readings : array_like, as long
        What was read, in any unit.
    degree : int
        1 for a line, 2 for a parabola, at most 3.

    Raises
    ------
    ValueError
        If the arrays differ in length, a value is not a finite number, the degree is out of range, there are fewer
        than degree + 2 points, or fewer than degree + 1 different forces.

    Notes
    -----
    Least squares take the applied forces as exact and the scatter of the readings as the same everywhere.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 2.3.6.5 (load cell) and 2.3.6.7 (inverting the curve).

    Examples
    --------
    >>> found = calibration_curve([1, 2, 3, 4], [1.0, 2.1, 2.9, 4.0], degree=1)
    >>> [round(part, 3) for part in found.coefficients], round(found.residual_sd, 4)
    ([0.05, 0.98], 0.0949)
    """
    degree = checked.count(degree, name="degree", at_least=1)
    if degree > 3:
        raise ValueError(f"degree must be at most 3; got {degree}.")
    x = checked.array(applied, name="applied", at_least=degree + 2)
    y = checked.array(readings, name="readings", at_least=degree + 2)
    checked.same_length(x, y, names=("applied", "readings"))
    different = np.unique(x).size
    if different < degree + 1:
        raise ValueError(f"applied must hold at least {degree + 1} different forces; got {different}.")
    fitted = polynomial(x, y, degree=degree)
    variance = fitted.squares / fitted.df
    return CalibrationCurve(
        coefficients=tuple(float(part) for part in fitted.coefficients),
        standard_errors=tuple(math.sqrt(variance * fitted.inverse[place][place]) for place in range(degree + 1)),
        residual_sd=math.sqrt(variance),
        df=fitted.df,
        low=float(x.min()),
        high=float(x.max()),
    )
