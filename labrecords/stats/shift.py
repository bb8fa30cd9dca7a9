"""A shift of the mean somewhere in a series, and how much of the scatter one grouping explains."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from labrecords.stats import checked
from labrecords.stats.checked import Floats
from labrecords.stats.many_groups import OneWay, one_way

FEWEST = 3  # values on each side of a shift
PERMUTATIONS = 1999
SEED = 20260
NEARLY = 3.841458820694124  # the 95 % point of chi-squared with one degree of freedom
NOTHING = 1e-30  # share of the scatter that stands for none, so that a clean step has a t
BLOCK = 200_000  # numbers held at once


@dataclass(frozen=True)
class Shift:
    """The most likely place of one shift of the mean.

    Attributes
    ----------
    place : int
        Number of values before the shift: values[:place] and values[place:] are the two sides.
    statistic : float
        Size of t between the two sides, pooled; the largest over all places.
    p_value : float
        Share of the series in any other order whose largest t is as large, the order found counted too.
    before, after : float
        Means of the two sides.
    plausible : tuple of int
        Places that fit nearly as well, the likeliest first: those whose likelihood ratio against ``place`` a
        chi-squared test with one degree of freedom does not refuse at 5 %. A rule of thumb, for no place is a
        parameter of that test.
    """

    place: int
    statistic: float
    p_value: float
    before: float
    after: float
    plausible: tuple[int, ...]


def largest_shift(values: ArrayLike) -> Shift:
    """Find where one shift of the mean is most likely, and how likely any order would show one as large.

    Parameters
    ----------
    values : array_like, one-dimensional, at least 6 values
        Independent results in the order in which they were taken, not all equal.

    Returns
    -------
    Shift

    Raises
    ------
    ValueError
        If there are fewer than 6 values, one is not a finite number, or all are equal.

    Notes
    -----
    Every place with 3 values or more on each side is tried, so the largest t has no t distribution; its p comes
    from 1,999 orders drawn with a fixed seed, the same each time. A slow drift gives a small p too: look at the plot.

    References
    ----------
    .. [1] Cobb (1978), The problem of the Nile, Biometrika 65, the series and its shift after 1898, from memory.

    Examples
    --------
    >>> found = largest_shift([1.52, 1.49, 1.51, 1.50, 1.53, 1.38, 1.41, 1.37, 1.40, 1.39])
    >>> found.place, round(found.before, 2), round(found.after, 2), found.p_value < 0.05
    (5, 1.51, 1.39, True)
    """
    data = checked.spread(values, at_least=2 * FEWEST)
    found = _sizes(data[np.newaxis, :])[0]
    place = int(found.argmax()) + FEWEST
    largest = float(found.max())
    return Shift(
        place=place,
        statistic=largest,
        p_value=_share_as_large(data, largest),
        before=float(data[:place].mean()),
        after=float(data[place:].mean()),
        plausible=_nearly_as_well(found, data.size),
    )


def _nearly_as_well(sizes: Floats, n: int) -> tuple[int, ...]:
    """With t of a place, the share of the scatter that is left within the sides is (n - 2) / (n - 2 + t squared)."""
    left = (n - 2) / (n - 2 + sizes**2)
    apart = n * np.log(left / left.min())
    near = np.flatnonzero(apart <= NEARLY)
    return tuple(int(place) + FEWEST for place in near[np.argsort(apart[near], kind="stable")])


def _sizes(rows: Floats) -> Floats:
    """Size of the pooled t at every place, one row an order. The whole sum of squares is the same for all places."""
    n = rows.shape[1]
    centred = rows - rows.mean(axis=1, keepdims=True)
    before = np.arange(FEWEST, n - FEWEST + 1)
    sums = np.cumsum(centred, axis=1)[:, FEWEST - 1 : n - FEWEST]
    between = sums**2 * (n / (before * (n - before)))
    whole = (centred**2).sum(axis=1, keepdims=True)
    within = np.maximum(whole - between, NOTHING * whole)
    sizes: Floats = np.sqrt(between / (within / (n - 2)))
    return sizes


def _share_as_large(data: Floats, largest: float) -> float:
    rng = np.random.default_rng(SEED)
    each = max(1, BLOCK // data.size)
    beyond, left = 0, PERMUTATIONS
    while left:
        orders = rng.permuted(np.tile(data, (min(each, left), 1)), axis=1)
        beyond += int((_sizes(orders).max(axis=1) >= largest * (1 - 1e-12)).sum())
        left -= len(orders)
    return (beyond + 1) / (PERMUTATIONS + 1)


def explained(values: ArrayLike, labels: Sequence[Hashable]) -> OneWay:
    """How much of the scatter the grouping by ``labels`` explains: one-way analysis of variance.

    Parameters
    ----------
    values : array_like, one-dimensional, at least 3 values
        Results in one unit.
    labels : sequence
        The level of each, equally many; at least 2 different, at least one of them twice.

    Returns
    -------
    OneWay
        ``r_squared`` is the share of the sum of squares between the levels.

    Raises
    ------
    ValueError
        If the labels are not as many as the values, all alike or all different, or the values leave nothing to explain.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 7.4.3.

    Examples
    --------
    >>> round(explained([1.31, 1.33, 1.42, 1.46], ["a", "a", "b", "b"]).r_squared, 3)
    0.935
    """
    data = checked.array(values, at_least=3)
    if len(labels) != data.size:
        raise ValueError(f"labels must be as many as values; got {len(labels)} and {data.size}.")
    groups: dict[Hashable, list[float]] = {}
    for value, label in zip(data, labels, strict=True):
        groups.setdefault(label, []).append(float(value))
    if not 2 <= len(groups) < data.size:
        raise ValueError(f"labels must have 2 levels or more, one of them twice; got {len(groups)} of {data.size}.")
    return one_way(*groups.values())
