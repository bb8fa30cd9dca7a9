"""Restricted likelihood of data in cells, with two crossed random factors, in time linear in the number of cells."""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import linalg, sparse

from labrecords.stats.checked import Floats

Codes = NDArray[np.intp]


@dataclass(frozen=True)
class Cells:
    """Values summed up by cell: all that the likelihood needs.

    Attributes
    ----------
    counts, means : array
        Number of values and their mean, a cell each.
    ss_within : float
        Sum of squared deviations from the cell means.
    outer, inner : array of int
        Level of each cell, from 0. The outer factor may have many levels, the inner should have few; all cells
        are at one inner level where there is no such factor.
    """

    counts: Floats
    means: Floats
    ss_within: float
    outer: Codes
    inner: Codes

    @cached_property
    def total(self) -> float:
        """Number of values."""
        return float(self.counts.sum())

    @cached_property
    def outer_sums(self) -> sparse.csr_array:
        """Matrix that sums over the cells of each outer level."""
        places = np.arange(self.outer.size)
        return sparse.csr_array((np.ones(places.size), (self.outer, places)))

    @cached_property
    def inner_levels(self) -> Floats:
        """Indicator of each inner level, a column each."""
        levels: Floats = np.eye(int(self.inner.max()) + 1)[self.inner]
        return levels


@dataclass(frozen=True)
class Point:
    """The likelihood at three variance ratios (cell, outer and inner variance over the residual variance).

    Attributes
    ----------
    deviance : float
        Minus twice the restricted log likelihood, profiled over mean and residual variance, less its constant.
    residual : float
        The residual variance that maximises it.
    trace, square : array
        The slope of the deviance along the ratios is trace - square / residual.
    """

    deviance: float
    residual: float
    trace: Floats
    square: Floats


def evaluate(cells: Cells, cell: float, outer: float, inner: float) -> Point:
    """Return the restricted likelihood of ``cells`` at the three variance ratios, each 0 or more.

    Notes
    -----
    The covariance of the cell means over the residual variance is V = T + inner A A', where A marks the inner
    levels and T is diagonal but for the outer factor. Henderson's equations [1]_ replace the inverse of V. Squares
    are summed as parts that are all positive, so that no digits cancel where a ratio is large.

    References
    ----------
    .. [1] Searle, Casella, McCulloch (1992), Variance Components, sections 6.6 and 7.6, from memory.
    """
    return _Equations(cells, cell, outer, inner).point()


class _Equations:
    """Henderson's equations of the mean and the inner effects."""

    def __init__(self, cells: Cells, cell: float, outer: float, inner: float) -> None:
        self.cells, self.inner = cells, inner
        self.weight = 1 / (1 / cells.counts + cell)
        self.by_outer = cells.outer_sums @ self.weight
        self.damped = 1 / (1 + outer * self.by_outer)
        # one column for the mean, one for each inner level in units of its standard deviation
        self.design = np.hstack([np.ones((self.weight.size, 1)), math.sqrt(inner) * cells.inner_levels])
        self.solution = self.solved(self.design)
        penalty = np.diag([0.0] + [1.0] * cells.inner_levels.shape[1])
        self.factor = linalg.cho_factor(self.design.T @ self.solution + penalty, lower=True)

    def outer_means(self, columns: Floats) -> Floats:
        means: Floats = (self.cells.outer_sums @ (self.weight[:, None] * columns)) / self.by_outer[:, None]
        return means

    def solved(self, columns: Floats) -> Floats:
        """T inverse times the columns: deviations from the outer means, and the means damped."""
        means = self.outer_means(columns)
        found: Floats = self.weight[:, None] * (
            columns - means[self.cells.outer] + (self.damped[:, None] * means)[self.cells.outer]
        )
        return found

    def point(self) -> Point:
        effects = linalg.cho_solve(self.factor, self.solution.T @ self.cells.means)
        left = (self.cells.means - self.design @ effects)[:, None]
        degrees = self.cells.total - 1
        residual = (self.cells.ss_within + self.sum_of_squares(left, effects[1:])) / degrees
        return Point(
            deviance=degrees * math.log(residual) + self.log_determinant(),
            residual=residual,
            trace=self.traces(),
            square=self.squares(self.solved(left)[:, 0]),
        )

    def sum_of_squares(self, left: Floats, effects: Floats) -> float:
        means = self.outer_means(left)
        within = self.weight @ (left - means[self.cells.outer])[:, 0] ** 2
        return float(within + (self.by_outer * self.damped) @ means[:, 0] ** 2 + effects @ effects)

    def log_determinant(self) -> float:
        diagonal = 2 * np.log(np.diag(self.factor[0])).sum()
        return float(diagonal - np.log(self.weight).sum() - np.log(self.damped).sum())

    def squares(self, projected: Floats) -> Floats:
        sums = (projected, self.cells.outer_sums @ projected, self.cells.inner_levels.T @ projected)
        return np.array([float(total @ total) for total in sums])

    def traces(self) -> Floats:
        """Traces of the projection P = V^-1 - V^-1 1 (1' V^-1 1)^-1 1' V^-1 times each term's pattern."""
        inverse = linalg.cho_solve(self.factor, np.eye(self.design.shape[1]))
        squared = self.cells.outer_sums @ self.weight**2 / self.by_outer
        own = self.by_outer - squared + squared * self.damped
        outer = self.cells.outer_sums @ self.solution
        return np.array(
            [
                own.sum() - np.sum(inverse * (self.solution.T @ self.solution)),
                self.by_outer @ self.damped - np.sum(inverse * (outer.T @ outer)),
                self.inner_trace(inverse),
            ]
        )

    def inner_trace(self, inverse: Floats) -> float:
        levels = self.cells.inner_levels
        solved = self.solved(levels)
        if self.inner * np.trace(levels.T @ solved) > levels.shape[1]:
            # the other form would lose digits: the trace is small beside its parts
            return float(levels.shape[1] - np.trace(inverse[1:, 1:])) / self.inner
        inner = levels.T @ self.solution
        return float(np.trace(levels.T @ solved) - np.sum(inverse * (inner.T @ inner)))
