"""Where ordered values would lie if they were normal: plotting positions, and the band of each place."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from labrecords.stats import checked
from labrecords.stats.checked import Floats
from labrecords.stats.moments import moments


@dataclass(frozen=True)
class NormalPositions:
    """The ordered values with their positions; every array has one entry a value, from the smallest on.

    Attributes
    ----------
    order : array of int
        Places of the values as they were given.
    value : array of float
        The values, in their unit.
    share, quantile : array of float
        Plotting position between 0 and 1, and the standard normal quantile there.
    low, high : array of float
        Pointwise band, in the unit of the values.
    mean, sd : float
        Of the values (n - 1 degrees of freedom); the line is mean + sd quantile.
    """

    order: NDArray[np.intp]
    value: Floats
    share: Floats
    quantile: Floats
    low: Floats
    high: Floats
    mean: float
    sd: float


def normal_positions(values: ArrayLike, *, confidence: float = 0.95) -> NormalPositions:
    """Give plotting positions and a pointwise band for a normal probability plot.

    Parameters
    ----------
    values : array_like, one-dimensional, at least 3 values
        Independent results, not all equal.
    confidence : float
        Of the band at each place, between 0 and 1.

    Returns
    -------
    NormalPositions

    Raises
    ------
    ValueError
        If there are fewer than 3 values, one is not a finite number, or all are equal.

    Notes
    -----
    The i-th of n has the position (i - 0.375) / (n + 0.25) [1]_. It lies between mean + sd z(B(low tail)) and
    mean + sd z(B(high tail)), B being the quantile function of Beta(i, n + 1 - i) [2]_, where mean and standard
    deviation are taken as known: a band for looking, in which more values lie than confidence says.

    References
    ----------
    .. [1] Blom (1958), Statistical Estimates and Transformed Beta-Variables.
    .. [2] David and Nagaraja (2003), Order Statistics, 3rd ed., section 2.1.

    Examples
    --------
    >>> [round(float(share), 4) for share in normal_positions([3.0, 1.0, 2.0]).share]
    [0.1923, 0.5, 0.8077]
    """
    given = checked.spread(values, at_least=3)
    tail = (1 - checked.fraction(confidence, name="confidence")) / 2
    order = np.argsort(given, kind="stable")
    rank = np.arange(1, given.size + 1)
    share: Floats = np.asarray((rank - 0.375) / (given.size + 0.25), dtype=np.float64)
    found = moments(given)
    low, high = (
        found.mean + found.sd * special.ndtri(special.betaincinv(rank, given.size + 1 - rank, edge))
        for edge in (tail, 1 - tail)
    )
    return NormalPositions(order, given[order], share, special.ndtri(share), low, high, found.mean, found.sd)
