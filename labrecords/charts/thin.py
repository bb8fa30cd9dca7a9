"""Thinning a trace for drawing, so that no peak is lost."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


def thin(x: ArrayLike, y: ArrayLike, *, columns: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Keep the first, lowest, highest and last sample of each pixel column.

    Averaging would draw a peak below the one reported. Samples stay in their order; a trace of at
    most four samples a column comes back whole.

    Parameters: `x` and `y`, equally long, finite, at least one sample; `columns` at least 1.
    Raises ValueError when the lengths differ, a number is not finite, or nothing is given.

    >>> thin([0, 1, 2, 3, 4, 5, 6, 7], [0, 1, 9, 3, 2, 2, 2, 1], columns=1)
    (array([0., 2., 7.]), array([0., 9., 1.]))
    """
    xs, ys = _checked(x, y, columns=columns)
    if xs.size <= 4 * columns:
        return xs, ys
    kept = _kept(_column(xs, columns=columns), ys)
    return xs[kept], ys[kept]


def _checked(x: ArrayLike, y: ArrayLike, *, columns: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    xs, ys = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    if xs.ndim != 1 or xs.shape != ys.shape or xs.size == 0:
        raise ValueError("A trace needs as many forces as displacements, and at least one of each.")
    if not (np.isfinite(xs).all() and np.isfinite(ys).all()):
        raise ValueError("A trace holds a number that is not finite: leave the sample out and say so.")
    if columns < 1:
        raise ValueError("A figure needs at least one pixel column.")
    return xs, ys


def _column(xs: NDArray[np.float64], *, columns: int) -> NDArray[np.int64]:
    low, high = xs.min(), xs.max()
    if low == high:
        return np.zeros(xs.size, dtype=np.int64)
    return np.clip((xs - low) / (high - low) * columns, 0, columns - 1).astype(np.int64)


def _kept(column: NDArray[np.int64], ys: NDArray[np.float64]) -> NDArray[np.int64]:
    starts = np.flatnonzero(np.r_[True, np.diff(column) != 0])
    ends = np.r_[starts[1:], column.size] - 1
    run = np.repeat(np.arange(starts.size), ends - starts + 1)
    by_height = np.lexsort((ys, run))
    return np.unique(np.r_[starts, by_height[starts], by_height[ends], ends])
