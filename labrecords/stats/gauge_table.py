"""A gauge study's table, summed up by cell, and its sums of squares."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike
from scipy import linalg, sparse
from scipy.sparse import csgraph

from labrecords.stats import checked
from labrecords.stats.checked import Floats
from labrecords.stats.likelihood import Cells, Codes

COLUMNS = ("part", "operator", "value")
Sums = dict[str, tuple[float, int]]  # source: sum of squares, degrees of freedom


@dataclass(frozen=True)
class Layout:
    """Values summed up by cell: one operator's values of one part.

    Attributes
    ----------
    counts, means : array
        Number of values of each cell, and their mean less a constant common to all.
    ss_within : float
        Sum of squared deviations from the cell means; exactly 0 where the values of each cell are equal.
    part, operator : array of int
        Of each cell, from 0.
    parts, operators : int
        How many there are.
    """

    counts: Floats
    means: Floats
    ss_within: float
    part: Codes
    operator: Codes
    parts: int
    operators: int

    @property
    def total(self) -> int:
        """Number of values."""
        return int(self.counts.sum())

    @property
    def count(self) -> float:
        """Number of values in a cell, where balanced."""
        return float(self.counts[0])

    @property
    def balanced_crossed(self) -> bool:
        """Whether every operator has every part equally often."""
        return self.counts.size == self.parts * self.operators and self._even_counts

    @property
    def balanced_nested(self) -> bool:
        """Whether all cells hold equally many values, and all operators equally many cells."""
        return self._even_counts and np.ptp(np.bincount(self.operator)) == 0

    @property
    def _even_counts(self) -> bool:
        return bool(np.ptp(self.counts) == 0)

    def crossed_cells(self) -> tuple[Cells, dict[str, str]]:
        """Cells for the crossed likelihood, the factor with fewer levels inner, and what its terms are called."""
        names = {"cell": "interaction", "outer": "part", "inner": "operator"}
        outer, inner = self.part, self.operator
        if self.operators > self.parts:
            names |= {"outer": "operator", "inner": "part"}
            outer, inner = inner, outer
        return Cells(self.counts, self.means, self.ss_within, outer, inner), names

    def nested_cells(self) -> tuple[Cells, dict[str, str]]:
        """Cells for the nested likelihood, operators outer, no inner factor, and what its terms are called."""
        cells = Cells(self.counts, self.means, self.ss_within, self.operator, np.zeros_like(self.operator))
        return cells, {"cell": "part", "outer": "operator"}


def layout(table: pd.DataFrame) -> Layout:
    """Return the validated ``table``, columns part, operator and value, as cells.

    Raises
    ------
    ValueError
        If a column or label is missing, a value is not a finite number, all values are equal, there is one
        operator only, or no cell holds 2 values.
    """
    part, operator, values = _columns(table)
    parts, operators = int(part.max()) + 1, int(operator.max()) + 1
    if operators < 2:
        raise ValueError("table must hold at least 2 operators; got 1.")
    code, cell = pd.factorize(operator * parts + part)
    if cell.size == values.size:
        raise ValueError("table must hold at least 2 values of some part by the same operator; got 1 of each.")
    counts = np.bincount(code).astype(float)
    means, ss_within = cell_means(code, counts, values)
    return Layout(counts, means, ss_within, cell % parts, cell // parts, parts, operators)


def cell_means(code: Codes, counts: Floats, values: Floats) -> tuple[Floats, float]:
    """Return the means of the cells, less the mean of all, and the sum of squares within.

    Each cell is centred on one of its own values: equal values give exactly 0, large leading digits cost nothing.
    """
    anchor = np.empty(counts.size)
    anchor[code] = values
    deviation = values - anchor[code]
    shift = np.bincount(code, deviation) / counts
    deviation -= shift[code]
    return anchor - values.mean() + shift, float(deviation @ deviation)


def grouped(groups: Mapping[str, ArrayLike] | Sequence[ArrayLike]) -> tuple[Floats, Floats, float]:
    """Return counts, means less a constant, and the sum of squares within, of validated groups."""
    found = list(groups.items()) if isinstance(groups, Mapping) else list(enumerate(groups, start=1))
    if len(found) < 2:
        raise ValueError(f"groups must hold at least 2 groups; got {len(found)}.")
    arrays = [checked.array(values, name=f"group {name}") for name, values in found]
    values = checked.spread(np.concatenate(arrays), name="groups", at_least=3)
    counts = np.array([array.size for array in arrays])
    if values.size == counts.size:
        raise ValueError("groups must hold at least 2 values in some group; got 1 in each.")
    means, ss_within = cell_means(np.repeat(np.arange(counts.size), counts), counts, values)
    return counts.astype(float), means, ss_within


def crossed_sums(data: Layout) -> Sums:
    """Return the sums of squares of a balanced crossed study."""
    count = data.counts[0]
    grid = np.empty((data.operators, data.parts))
    grid[data.operator, data.part] = data.means
    grid -= grid.mean()
    by_operator, by_part = grid.mean(axis=1), grid.mean(axis=0)
    rest = (grid - by_operator[:, None] - by_part).ravel()
    return {
        "part": (float(count * data.operators * (by_part @ by_part)), data.parts - 1),
        "operator": (float(count * data.parts * (by_operator @ by_operator)), data.operators - 1),
        "interaction": (float(count * (rest @ rest)), (data.operators - 1) * (data.parts - 1)),
        "repeatability": _within(data),
    }


def nested_sums(data: Layout) -> Sums:
    """Return the sums of squares of parts nested in operators, balanced or not."""
    weight = np.bincount(data.operator, data.counts)
    by_operator = np.bincount(data.operator, data.counts * data.means) / weight
    rest = data.means - by_operator[data.operator]
    by_operator = by_operator - weight @ by_operator / data.total
    return {
        "operator": (float(weight @ by_operator**2), data.operators - 1),
        "part": (float(data.counts @ rest**2), data.counts.size - data.operators),
        "repeatability": _within(data),
    }


def adjusted_sums(data: Layout) -> Sums:
    """Return the sums of squares of an unbalanced crossed study, each main effect adjusted for the other.

    They do not add up to the total (type II); the interaction is adjusted for both.
    """
    swapped = data.operators > data.parts
    outer, inner = (data.operator, data.part) if swapped else (data.part, data.operator)
    by_inner, rest = _adjusted(data, outer, inner)
    by_outer = max(_between(data, outer) + by_inner - _between(data, inner), 0.0)
    part, operator = (by_inner, by_outer) if swapped else (by_outer, by_inner)
    df = data.parts + data.operators - _pieces(data) - 1
    return {
        "part": (part, df - data.operators + 1),
        "operator": (operator, df - data.parts + 1),
        "interaction": (rest, data.counts.size - 1 - df),
        "repeatability": _within(data),
    }


def total_sum(data: Layout) -> float:
    """Return the sum of squared deviations from the mean of all values."""
    return _within(data)[0] + float(data.counts @ (data.means - data.counts @ data.means / data.total) ** 2)


def _columns(table: pd.DataFrame) -> tuple[Codes, Codes, Floats]:
    if not isinstance(table, pd.DataFrame):
        raise ValueError(f"table must be a pandas DataFrame; got {type(table).__name__}.")
    missing = [name for name in COLUMNS if name not in table.columns]
    if missing:
        raise ValueError(f"table must have the columns part, operator and value; got none called {missing[0]}.")
    values = checked.spread(table["value"].to_numpy(), name="value", at_least=3)
    return _codes(table, "part"), _codes(table, "operator"), values


def _codes(table: pd.DataFrame, name: str) -> Codes:
    codes: Codes = pd.factorize(table[name])[0]
    if codes.min() < 0:
        raise ValueError(f"{name} must be given in every row; got none at position {int(codes.argmin()) + 1}.")
    return codes


def _within(data: Layout) -> tuple[float, int]:
    return data.ss_within, data.total - data.counts.size


def _between(data: Layout, level: Codes) -> float:
    weight = np.bincount(level, data.counts)
    mean = np.bincount(level, data.counts * data.means) / weight
    return float(weight @ (mean - weight @ mean / data.total) ** 2)


def _adjusted(data: Layout, outer: Codes, inner: Codes) -> tuple[float, float]:
    """Sum of squares of the inner factor adjusted for the outer, and what both leave of the cell means."""
    levels = (int(outer.max()) + 1, int(inner.max()) + 1)
    number = sparse.coo_array((data.counts, (outer, inner)), shape=levels).toarray()
    weight = number.sum(axis=1)
    means = np.bincount(outer, data.counts * data.means) / weight
    right = np.bincount(inner, data.counts * (data.means - means[outer]))
    left = np.diag(number.sum(axis=0)) - number.T @ (number / weight[:, None])
    effect = linalg.pinvh(left) @ right
    rest = data.means - effect[inner]
    rest = rest - (np.bincount(outer, data.counts * rest) / weight)[outer]
    return float(effect @ right), float(data.counts @ rest**2)


def _pieces(data: Layout) -> int:
    """In how many pieces the study falls that share neither part nor operator."""
    size = data.parts + data.operators
    links = (np.ones(data.part.size), (data.part, data.parts + data.operator))
    return int(csgraph.connected_components(sparse.coo_array(links, shape=(size, size)), directed=False)[0])
