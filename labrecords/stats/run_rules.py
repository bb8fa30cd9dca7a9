"""Rules that name the points of a control chart at which the process has probably changed."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from labrecords.stats import checked

Flags = NDArray[np.bool_]

RUN_LENGTH = 8
RULES = {
    "beyond_three_sigma": "one point beyond three sigma",
    "two_of_three": "two of three successive points beyond two sigma on the same side",
    "four_of_five": "four of five successive points beyond one sigma on the same side",
    "run": "a run of points on one side of the centre line",
}


@dataclass(frozen=True)
class Signals:
    """Places, counted from 0, of the points that complete a pattern; the attributes are the keys of ``RULES``.

    Attributes
    ----------
    beyond_three_sigma : tuple of int
        One point beyond three sigma.
    two_of_three : tuple of int
        A point beyond two sigma, as is at least one of the two before it, on the same side.
    four_of_five : tuple of int
        A point beyond one sigma, as are at least three of the four before it, on the same side.
    run : tuple of int
        A point with the ``run_length`` - 1 before it on the same side of the centre line.
    run_length : int
        Points that make a run.
    """

    beyond_three_sigma: tuple[int, ...]
    two_of_three: tuple[int, ...]
    four_of_five: tuple[int, ...]
    run: tuple[int, ...]
    run_length: int

    @property
    def points(self) -> tuple[int, ...]:
        """Places of all points that break any rule, in order."""
        return tuple(sorted({*self.beyond_three_sigma, *self.two_of_three, *self.four_of_five, *self.run}))


def run_rules(values: ArrayLike, *, centre: float, sigma: float, run_length: int = RUN_LENGTH) -> Signals:
    """Return the points that break a rule for patterns unlikely of a process in control.

    Parameters
    ----------
    values : array_like, one-dimensional, at least 1 value
        Points of the chart, in order.
    centre : float
        Centre line, in the unit of the values.
    sigma : float
        Standard deviation of a point, above 0: of a mean, where means are charted.
    run_length : int
        How many in a row on one side of the centre line are a signal, at least 2.

    Returns
    -------
    Signals

    Raises
    ------
    ValueError
        If a value is not a finite number or an argument is out of range.

    Notes
    -----
    A point just on a line is not beyond it; one on the centre line ends a run. Each rule alone seldom cries wolf; all
    four together do so after 92 points of a process in control on average (runs of 8; 91.75 in [2]_), the first alone
    after 370. Decide which rules count before looking.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2 (rules that add to the three-sigma limits).
    .. [2] Champ and Woodall (1987), Exact results for Shewhart control charts with supplementary runs rules,
       Technometrics 29(4), from memory.

    Examples
    --------
    >>> found = run_rules([0.1, 2.4, 0.3, 2.2, -3.5, 0.2], centre=0, sigma=1)
    >>> found.beyond_three_sigma, found.two_of_three, found.points
    ((4,), (3,), (3, 4))
    """
    data = checked.array(values)
    centre, sigma = checked.finite(centre, name="centre"), checked.positive(sigma, name="sigma")
    run_length = checked.count(run_length, name="run_length", at_least=2)
    distance = data - centre
    sides = (distance, -distance)

    def either_side(lines: int, *, needed: int, window: int) -> tuple[int, ...]:
        found = [_completed(side > lines * sigma, needed=needed, window=window) for side in sides]
        return tuple(np.flatnonzero(found[0] | found[1]).tolist())

    return Signals(
        beyond_three_sigma=either_side(3, needed=1, window=1),
        two_of_three=either_side(2, needed=2, window=3),
        four_of_five=either_side(1, needed=4, window=5),
        run=either_side(0, needed=run_length, window=run_length),
        run_length=run_length,
    )


def _completed(beyond: Flags, *, needed: int, window: int) -> Flags:
    """Points that are beyond, and with them at least ``needed`` of the last ``window``."""
    so_far = np.concatenate([[0], np.cumsum(beyond)])
    before = so_far[np.maximum(np.arange(1, beyond.size + 1) - window, 0)]
    completed: Flags = beyond & (so_far[1:] - before >= needed)
    return completed
