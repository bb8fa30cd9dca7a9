"""Precision of a test method: repeatability and reproducibility from an interlaboratory study."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike
from scipy import special

from labrecords.stats import checked
from labrecords.stats.checked import Floats
from labrecords.stats.moments import moments

LIMIT_FACTOR = 2.8  # 1.96 sqrt(2), as the standard rounds it
Cells: TypeAlias = "ArrayLike | pd.DataFrame | Mapping[str, ArrayLike]"


@dataclass(frozen=True)
class Precision:
    """Precision of a test method for one material, all in the unit of the values but h and k.

    Attributes
    ----------
    laboratories : tuple
        Their names; 1, 2, 3, ... where they have none.
    cell_means, cell_sds : tuple of float
        Mean and standard deviation of each laboratory's replicates.
    h, k : tuple of float
        Consistency of each laboratory: its mean's distance from the mean of all over `s_xbar`; its standard
        deviation over `s_r`.
    h_critical, k_critical : float
        What h (of either sign) and k exceed with probability `alpha` in a laboratory like the others.
    h_beyond, k_beyond : tuple of int
        Places, from 0, of the laboratories beyond.
    mean : float
        Of the cell means.
    s_xbar : float
        Standard deviation of the cell means.
    s_r : float
        Repeatability standard deviation.
    s_L : float
        Standard deviation between laboratories, 0 where the estimate of its square is negative.
    s_R : float
        Reproducibility standard deviation, at least `s_r`.
    r_limit, R_limit : float
        2.8 s_r and 2.8 s_R: what the difference of two results seldom (about 5 %) exceeds.
    replicates : int
        Number of values of each laboratory.
    alpha : float
        Of the critical values.
    """

    laboratories: tuple[Any, ...]
    cell_means: tuple[float, ...]
    cell_sds: tuple[float, ...]
    h: tuple[float, ...]
    k: tuple[float, ...]
    h_critical: float
    k_critical: float
    h_beyond: tuple[int, ...]
    k_beyond: tuple[int, ...]
    mean: float
    s_xbar: float
    s_r: float
    s_L: float  # noqa: N815 - the standard's symbol
    s_R: float  # noqa: N815 - as above
    r_limit: float
    R_limit: float
    replicates: int
    alpha: float


@dataclass(frozen=True)
class Cochran:
    """Cochran's test of the largest of several variances.

    Attributes
    ----------
    statistic : float
        C, the largest variance over the sum of all.
    critical : float
        What C exceeds with probability `alpha` at most.
    p_value : float
        Upper bound, exact where C is above one half.
    place : int
        Place, from 0, of the largest standard deviation (the first of equals).
    beyond : bool
        Whether C exceeds the critical value.
    alpha : float
        Of the critical value.
    """

    statistic: float
    critical: float
    p_value: float
    place: int
    beyond: bool
    alpha: float


def interlaboratory(cells: Cells, *, alpha: float = 0.005) -> Precision:
    """Return repeatability, reproducibility and the consistency of each laboratory, for one material.

    Parameters
    ----------
    cells : array_like, laboratories by replicates; DataFrame of this shape; or mapping of laboratory to values
        At least 3 laboratories, each with the same number of values, 2 or more.
    alpha : float
        Chance that a good laboratory's h (either sign) or k is beyond, between 0 and 1.

    Returns
    -------
    Precision

    Raises
    ------
    ValueError
        If there are fewer than 3 laboratories or 2 values, the laboratories hold different numbers of values, a
        value is not a finite number, the means are all equal, no laboratory's values differ, or alpha is out of
        range.

    Notes
    -----
    A "laboratory" may be a technician (or a machine, or a day) of one laboratory. Then `s_r` is the repeatability
    of one technician and `s_R` the intermediate precision; it says nothing about other laboratories.

    The material is taken as alike everywhere. A peel test destroys its strip, so that `s_r` holds the differences
    between strips, and `s_R` those between the lots sent out. A laboratory beyond is asked what happened; it is not
    left out for being beyond. With few laboratories h cannot be large: (p - 1) / sqrt(p) at most.

    References
    ----------
    .. [1] ASTM E691, Conducting an interlaboratory study to determine the precision of a test method, clauses 15
       and 16 of the 1999 edition, from memory.
    .. [2] ISO 5725-2:2019, 7.3 and 7.4, from memory.

    Examples
    --------
    >>> found = interlaboratory([[1.42, 1.51, 1.38], [1.47, 1.55, 1.44], [1.60, 1.58, 1.67], [1.45, 1.40, 1.49]])
    >>> round(found.s_r, 4), round(found.s_R, 4), round(found.R_limit, 3), found.h_beyond
    (0.0546, 0.0941, 0.263, ())
    """
    laboratories, grid = _grid(cells)
    p, n = grid.shape
    alpha = checked.fraction(alpha, name="alpha")
    found = [moments(row) for row in grid]
    means, sds = np.array([cell.mean for cell in found]), np.array([cell.sd for cell in found])
    between = moments(checked.spread(means, name="the laboratories' means"))
    if not sds.any():
        raise ValueError("cells must differ within at least one laboratory; got equal values in each.")
    s_r = _root_mean_square(sds)
    s_reproducibility = max(s_r, math.hypot(between.sd, s_r * math.sqrt((n - 1) / n)))
    h, k = (means - between.mean) / between.sd, sds / s_r
    h_critical, k_critical = critical_h(p, alpha=alpha), critical_k(p, n, alpha=alpha)
    return Precision(
        laboratories=laboratories,
        cell_means=tuple(means.tolist()),
        cell_sds=tuple(sds.tolist()),
        h=tuple(h.tolist()),
        k=tuple(k.tolist()),
        h_critical=h_critical,
        k_critical=k_critical,
        h_beyond=_places(np.abs(h) > h_critical),
        k_beyond=_places(k > k_critical),
        mean=between.mean,
        s_xbar=between.sd,
        s_r=s_r,
        s_L=math.sqrt(max(between.sd**2 - s_r**2 / n, 0.0)),
        s_R=s_reproducibility,
        r_limit=LIMIT_FACTOR * s_r,
        R_limit=LIMIT_FACTOR * s_reproducibility,
        replicates=n,
        alpha=alpha,
    )


def critical_h(p: int, *, alpha: float = 0.005) -> float:
    """Return what the h of one of ``p`` laboratories exceeds, in size, with probability ``alpha``.

    Parameters
    ----------
    p : int
        Number of laboratories, at least 3.
    alpha : float
        Two-sided, for one laboratory, between 0 and 1.

    Raises
    ------
    ValueError
        If an argument is out of range.

    Notes
    -----
    The standard writes (p - 1) t / sqrt(p (t^2 + p - 2)), t of p - 2 degrees of freedom exceeded with probability
    alpha / 2. Here t^2 / (t^2 + p - 2) is taken as what it is, a beta quantile: no digits are lost far out.

    References
    ----------
    .. [1] ASTM E691-99, table 5 and its footnote, from memory.

    Examples
    --------
    >>> round(critical_h(8), 2)
    2.15
    """
    p, alpha = checked.count(p, name="p", at_least=3), checked.fraction(alpha, name="alpha")
    return (p - 1) * math.sqrt(float(special.betainccinv(0.5, (p - 2) / 2, alpha)) / p)


def critical_k(p: int, n: int, *, alpha: float = 0.005) -> float:
    """Return what the k of one of ``p`` laboratories with ``n`` replicates exceeds with probability ``alpha``.

    Parameters
    ----------
    p, n : int
        Numbers of laboratories and of replicates, each at least 2.
    alpha : float
        One-sided, for one laboratory, between 0 and 1.

    Raises
    ------
    ValueError
        If an argument is out of range.

    Notes
    -----
    The standard writes sqrt(p / (1 + (p - 1) / F)), F of n - 1 and (p - 1)(n - 1) degrees of freedom. Here
    1 / (1 + (p - 1) / F) is taken as what it is, a beta quantile.

    References
    ----------
    .. [1] ASTM E691-99, table 5 and its footnote, from memory.

    Examples
    --------
    >>> round(critical_k(8, 3), 2)
    2.06
    """
    return math.sqrt(checked.count(p, name="p", at_least=2) * _largest_share(p, n, alpha))


def critical_cochran(p: int, n: int, *, alpha: float = 0.05) -> float:
    """Return what Cochran's C of ``p`` variances of ``n`` values each exceeds with probability ``alpha`` at most.

    Parameters
    ----------
    p, n : int
        Numbers of variances and of values behind each, each at least 2.
    alpha : float
        Between 0 and 1.

    Raises
    ------
    ValueError
        If an argument is out of range.

    Notes
    -----
    By Bonferroni's inequality: exact where the value is one half or more, on the safe side by little otherwise.

    References
    ----------
    .. [1] ISO 5725-2:2019, 8.3.4 and its table of critical values, from memory.

    Examples
    --------
    >>> round(critical_cochran(8, 3), 3), round(critical_cochran(8, 3, alpha=0.01), 3)
    (0.516, 0.615)
    """
    p, alpha = checked.count(p, name="p", at_least=2), checked.fraction(alpha, name="alpha")
    return _largest_share(p, n, alpha / p)


def cochran(cell_sds: ArrayLike, *, n: int, alpha: float = 0.05) -> Cochran:
    """Test whether the largest of several standard deviations is too large to belong to the others.

    Parameters
    ----------
    cell_sds : array_like, one-dimensional, at least 2 values of 0 or more
        Standard deviations, one unit.
    n : int
        Number of values behind each, at least 2.
    alpha : float
        Between 0 and 1.

    Returns
    -------
    Cochran

    Raises
    ------
    ValueError
        If a standard deviation is below 0, all are 0, or an argument is out of range.

    Notes
    -----
    Sees one large variance, not a small one nor two large ones; sensitive to values that are not normal.

    References
    ----------
    .. [1] ISO 5725-2:2019, 8.3.4, from memory.

    Examples
    --------
    >>> found = cochran([0.59, 2.17, 1.73, 6.62, 1.20, 1.29, 2.12, 0.98], n=3)
    >>> round(found.statistic, 3), found.place, found.beyond
    (0.725, 3, True)
    """
    sds = checked.array(cell_sds, name="cell_sds", at_least=2)
    if sds.min() < 0:
        raise ValueError(f"cell_sds must be 0 or more; got {float(sds.min())!r}.")
    if sds.max() < checked.SMALLEST:
        raise ValueError("cell_sds must not all be 0; got no other.")
    squares = (sds / sds.max()) ** 2
    critical = critical_cochran(sds.size, n, alpha=alpha)
    statistic = float(1 / squares.sum())
    tail = float(special.betaincc((n - 1) / 2, (sds.size - 1) * (n - 1) / 2, statistic))
    return Cochran(
        statistic=statistic,
        critical=critical,
        p_value=min(1.0, sds.size * tail),
        place=int(sds.argmax()),
        beyond=statistic > critical,
        alpha=float(alpha),
    )


def _largest_share(p: int, n: int, tail: float) -> float:
    """Share of one variance in the sum of ``p`` that is exceeded with probability ``tail``."""
    n, tail = checked.count(n, name="n", at_least=2), checked.fraction(tail, name="alpha")
    return float(special.betainccinv((n - 1) / 2, (p - 1) * (n - 1) / 2, tail))


def _root_mean_square(sds: Floats) -> float:
    largest = sds.max()
    return float(largest * np.sqrt(np.mean((sds / largest) ** 2)))


def _places(beyond: Any) -> tuple[int, ...]:
    return tuple(np.flatnonzero(beyond).tolist())


def _grid(cells: Cells) -> tuple[tuple[Any, ...], Floats]:
    laboratories, rows = _rows(cells)
    if len(rows) < 3:
        raise ValueError(f"cells must hold at least 3 laboratories; got {len(rows)}.")
    arrays = [
        checked.array(row, name=f"laboratory {name}", at_least=2) for name, row in zip(laboratories, rows, strict=True)
    ]
    sizes = [array.size for array in arrays]
    if min(sizes) < max(sizes):
        raise ValueError(
            "cells must be balanced, with equally many values of each laboratory; "
            f"got {', '.join(str(size) for size in sizes)}."
        )
    return laboratories, np.array(arrays)


def _rows(cells: Cells) -> tuple[tuple[Any, ...], list[Any]]:
    if isinstance(cells, pd.DataFrame):
        return tuple(cells.index), list(cells.to_numpy())
    if isinstance(cells, Mapping):
        return tuple(cells), list(cells.values())
    try:
        rows = list(cells)  # type: ignore[arg-type]  # what is no table is refused below
    except TypeError:
        raise ValueError(f"cells must be laboratories by replicates; got {cells!r:.80}.") from None
    return tuple(range(1, len(rows) + 1)), rows
