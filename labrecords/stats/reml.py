"""Variance components by restricted maximum likelihood (REML), for data in cells.

Model: value = mean + outer level + inner level + cell + residual, the last four independent, normal, mean 0.
Nested data have no inner factor. scipy and statsmodels have no exact, quick fit of two crossed random factors.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
from scipy import linalg, optimize

from labrecords.stats.checked import Floats
from labrecords.stats.likelihood import Cells, Codes, Point, evaluate

TERMS = ("cell", "outer", "inner")
STARTS = (0.7, 4.0)  # logarithm of 1 + count times variance ratio: a small and a large one
LARGEST = 30.0  # of the same logarithm: beyond, rounding hides the likelihood
STEP = 1e-6
MOST_STEPS = 40
ROUGH = 1e-6  # last step that is still taken for an end


@dataclass(frozen=True)
class Fit:
    """REML estimates.

    Attributes
    ----------
    residual : float
        Variance within cells.
    variances : dict
        Variance of each term in the model, 0 at the boundary.
    covariance : dict
        Asymptotic covariance of two estimates over the square of `unit`, keyed by pairs of names; terms at the
        boundary are left out.
    unit : float
        A variance near that of all values: the square of a very small or large one is no double.
    deviance : float
        Minus twice the restricted log likelihood, as R's lme4 defines it.
    """

    residual: float
    variances: dict[str, float]
    covariance: dict[tuple[str, str], float]
    unit: float
    deviance: float


def fit(cells: Cells, *, terms: tuple[str, ...]) -> Fit:
    """Fit the variance components of ``terms`` (of "cell", "outer", "inner") and the residual.

    Parameters
    ----------
    cells : Cells
        With a sum of squares within cells above 0.
    terms : tuple of str
        Which terms the model has.

    Raises
    ------
    ValueError
        If the maximum is not found.

    Notes
    -----
    The likelihood is profiled over mean and residual variance, and minimised over x = log(1 + n ratio) of each
    variance ratio (n the mean number of values in a cell), which is 0 at the boundary. Newton steps on the exact
    gradient end the search. It starts from the better of a small and a large ratio and is not sure of the global
    maximum; several are known only of very unbalanced data.

    References
    ----------
    .. [1] Bates, Maechler, Bolker, Walker (2015), Fitting linear mixed-effects models using lme4, Journal of
       Statistical Software 67(1), section 3, from memory.
    .. [2] Searle, Casella, McCulloch (1992), Variance Components, section 6.6, from memory.

    Examples
    --------
    >>> cells = Cells(np.full(3, 4.0), np.array([1.0, 2.0, 6.0]), 18.0, np.arange(3), np.zeros(3, int))
    >>> found = fit(cells, terms=("outer",))  # one-way, balanced: 2 and 7 - 2 / 4
    >>> round(found.residual, 9), round(found.variances["outer"], 9)
    (2.0, 6.5)
    """
    scale = math.sqrt((cells.ss_within + float(cells.counts @ (cells.means - cells.means.mean()) ** 2)) / cells.total)
    unit = replace(cells, means=(cells.means - cells.means.mean()) / scale, ss_within=cells.ss_within / scale**2)
    search = _Search(unit, terms)
    x = search.minimum()
    return search.fit(x, scale)


class _Search:
    """Search for the maximum along the terms of one model."""

    def __init__(self, cells: Cells, terms: tuple[str, ...]) -> None:
        self.cells = cells
        self.terms = terms
        self.places = [TERMS.index(term) for term in terms]
        self.mean_count = cells.total / cells.counts.size

    def ratios(self, x: Floats) -> Floats:
        """Variance ratios of the three terms; 0 for a term that the model lacks."""
        found = np.zeros(len(TERMS))
        found[self.places] = np.expm1(x) / self.mean_count
        return found

    def at(self, x: Floats) -> tuple[float, Floats]:
        point = evaluate(self.cells, *self.ratios(x))
        return point.deviance, self.slope(x, point)

    def slope(self, x: Floats, point: Point, residual: float | None = None) -> Floats:
        slope = point.trace - point.square / (point.residual if residual is None else residual)
        found: Floats = slope[self.places] * np.exp(x) / self.mean_count
        return found

    def minimum(self) -> Floats:
        starts = [np.full(len(self.terms), start) for start in STARTS]
        found = optimize.minimize(
            self.at,
            min(starts, key=lambda start: self.at(start)[0]),
            jac=True,
            bounds=[(0.0, LARGEST)] * len(self.terms),
            method="L-BFGS-B",
            options={"ftol": 1e-10, "gtol": 1e-4},
        )
        return self.polished(found.x)

    def polished(self, x: Floats) -> Floats:
        """Newton steps from a point near the minimum, until they no longer move it."""
        x = np.where(x < STEP, 0.0, x)
        size = np.inf
        for _ in range(MOST_STEPS):
            moved = self.moved(x)
            size, x = float(np.abs(moved - x).max()), moved
            if size <= 1e-11 * (1 + x.max()):
                break
        # rounding keeps the steps from getting smaller where a ratio is a million or more
        if size <= ROUGH and x.max() < LARGEST:
            return x
        raise ValueError(
            "table must give a REML likelihood with a maximum that can be found; got none. "
            "Values nearly equal within every cell are one cause."
        )

    def moved(self, x: Floats) -> Floats:
        """Where one Newton step leads: along what is not at 0, or wants to leave it."""
        slope = self.at(x)[1]
        free = np.flatnonzero((x > 0) | (slope < 0))
        moved = x.copy()
        if free.size:
            moved[free] -= linalg.lstsq(self.curvature(x, slope)[np.ix_(free, free)], slope[free])[0]
        return np.clip(moved, np.maximum(x - 2, 0), np.minimum(x + 2, LARGEST))

    def curvature(self, x: Floats, slope: Floats) -> Floats:
        steps = STEP * np.eye(x.size)
        found: Floats = np.array([(self.at(x + step)[1] - slope) / STEP for step in steps])
        symmetric: Floats = (found + found.T) / 2
        return symmetric

    def fit(self, x: Floats, scale: float) -> Fit:
        cells, point = self.cells, evaluate(self.cells, *self.ratios(x))
        variances = point.residual * self.ratios(x)[self.places] * scale**2
        degrees = cells.total - 1
        constant = float(np.log(cells.counts).sum()) + degrees * (1 + math.log(2 * math.pi) + 2 * math.log(scale))
        return Fit(
            residual=point.residual * scale**2,
            variances=dict(zip(self.terms, variances.tolist(), strict=True)),
            covariance=self.covariance(x, point.residual),
            unit=scale**2,
            deviance=point.deviance + constant,
        )

    def covariance(self, x: Floats, residual: float) -> dict[tuple[str, str], float]:
        """Twice the inverse of the deviance's curvature in (log residual, x), carried over to the variances."""
        free = np.flatnonzero(x > 0)
        slopes = self.full_slope(x, 0.0, residual)
        steps = STEP * np.eye(x.size + 1)[[0, *(free + 1)]]
        rows = [(self.full_slope(x + step[1:], step[0], residual) - slopes) / STEP for step in steps]
        curvature = np.array(rows)[:, [0, *(free + 1)]]
        carried = self.derivatives(x, residual, free)
        spread = 2 * carried @ np.linalg.pinv((curvature + curvature.T) / 2, hermitian=True) @ carried.T
        names = ["residual", *(self.terms[place] for place in free)]
        return {(a, b): float(spread[i, j]) for i, a in enumerate(names) for j, b in enumerate(names)}

    def full_slope(self, x: Floats, shift: float, residual: float) -> Floats:
        """Slope along the logarithm of the residual variance, shifted from its estimate, and along x."""
        point = evaluate(self.cells, *self.ratios(x))
        moved = residual * math.exp(shift)
        along = (self.cells.total - 1) * (1 - point.residual / moved)
        return np.array([along, *self.slope(x, point, moved)])

    def derivatives(self, x: Floats, residual: float, free: Codes) -> Floats:
        """Derivatives of the residual and the free variances along (log residual, free x)."""
        ratios, rates = np.expm1(x[free]) / self.mean_count, np.exp(x[free]) / self.mean_count
        found = np.diag(np.array([1.0, *rates])) * residual
        found[:, 0] = residual * np.array([1.0, *ratios])
        return found
