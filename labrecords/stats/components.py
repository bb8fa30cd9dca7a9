"""Gauge studies and variance components: how much of the spread is the specimen's, and how much the measuring's."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from labrecords.stats import anova, checked, gauge_estimates, reml
from labrecords.stats.anova import AnovaTable
from labrecords.stats.checked import Floats
from labrecords.stats.gauge_estimates import Claim, Estimates, GaugeComponents
from labrecords.stats.gauge_table import (
    Layout,
    Sums,
    adjusted_sums,
    crossed_sums,
    grouped,
    layout,
    nested_sums,
    total_sum,
)
from labrecords.stats.interval import Interval
from labrecords.stats.likelihood import Cells
from labrecords.stats.meansquares import Term, linear_interval

__all__ = [
    "CrossedGauge",
    "GaugeComponents",
    "NestedGauge",
    "OneWayComponents",
    "crossed_gauge",
    "nested_gauge",
    "one_way_components",
]

Method = Literal["auto", "anova", "reml"]
METHODS = ("auto", "anova", "reml")
POOLING_P = 0.25  # above it the interaction is usually pooled into the repeatability


@dataclass(frozen=True, kw_only=True)
class CrossedGauge(GaugeComponents, AnovaTable):
    """A crossed gauge study: components of the full model, those with the interaction pooled, and the table.

    Attributes
    ----------
    pooled : GaugeComponents
        The model without interaction. Its spread is part of the repeatability.
    pooling_suggested : bool
        Whether the p of the interaction is above 0.25, the usual reason to go by `pooled`. False without p.
    balanced : bool
        Whether every operator measured every part equally often.
    n, parts, operators : int
        Number of values, parts, operators.
    """

    pooled: GaugeComponents
    pooling_suggested: bool
    balanced: bool
    n: int
    parts: int
    operators: int


@dataclass(frozen=True, kw_only=True)
class NestedGauge(GaugeComponents, AnovaTable):
    """A nested gauge study: components and table.

    Attributes
    ----------
    balanced : bool
        Whether all operators had equally many parts, and all parts equally many values.
    n, parts, operators : int
        Number of values, parts (a part of one operator is not a part of another), operators.
    """

    balanced: bool
    n: int
    parts: int
    operators: int


@dataclass(frozen=True, kw_only=True)
class OneWayComponents(AnovaTable):
    """Variance between and within groups.

    Attributes
    ----------
    between, within : float
        Variances, in the square of the unit of the values; a negative estimate between is given as 0.
    between_raw : float
        As estimated, negative too.
    between_sd, within_sd, total_sd : float
        Standard deviations; the total is of one value of one group.
    n0 : float
        The mean group size that the unbalanced estimate uses.
    intervals : dict
        Interval of "between" and of "within".
    confidence : float
        Of each interval.
    """

    between: float
    within: float
    between_raw: float
    between_sd: float
    within_sd: float
    total_sd: float
    n0: float
    intervals: dict[str, Interval]
    confidence: float


def crossed_gauge(
    table: pd.DataFrame, *, method: Method = "auto", tolerance: float | None = None, confidence: float = 0.95
) -> CrossedGauge:
    """Return the variance components of a study in which operators measure the same parts.

    Parameters
    ----------
    table : pandas.DataFrame
        A row a value, columns part, operator (labels) and value (floats, one unit). At least 2 parts, 2
        operators, and 2 values of some part by the same operator.
    method : str
        ``"anova"`` (balanced data only), ``"reml"``, or ``"auto"``: analysis of variance where balanced, REML
        otherwise.
    tolerance : float, optional
        Upper less lower specification limit, above 0, in the unit of the values.
    confidence : float
        Confidence of each interval, between 0 and 1.

    Returns
    -------
    CrossedGauge

    Raises
    ------
    ValueError
        If the table is not as above, a value is not a finite number, all values are equal, ``"anova"`` is asked
        of unbalanced data, REML of values equal within each cell (or so nearly that its maximum is lost in
        rounding), or an argument is out of range.

    Notes
    -----
    Parts, operators and their interaction are random effects, normal and independent. Two or three operators say
    little about operators at large: read the interval. Peel tests destroy the strip; a part is then a lot or pack
    whose strips are taken as alike, and what differs between its strips is counted as repeatability.

    Intervals: of the repeatability chi-squared and exact, from the values within cells; of the others modified
    large samples where balanced (see ``meansquares``), around the raw estimate. Unbalanced: Satterthwaite's with
    the degrees of freedom of REML's asymptotic variance, only a guide, and None at the boundary.

    Unbalanced data: the sums of squares in the table are adjusted for the other main effect (type II); only the
    interaction has an exact test.

    References
    ----------
    .. [1] AIAG (2010), Measurement Systems Analysis, 4th ed., chapter III section B, analysis of variance method,
       from memory.
    .. [2] Burdick, Borror, Montgomery (2005), Design and Analysis of Gauge R&R Studies, chapter 3, from memory.
    .. [3] Searle, Casella, McCulloch (1992), Variance Components, section 4.5, from memory.

    Examples
    --------
    >>> table = pd.DataFrame({
    ...     "part": [1, 1, 2, 2, 3, 3] * 2,
    ...     "operator": ["Ann"] * 6 + ["Bo"] * 6,
    ...     "value": [1.0, 1.2, 2.1, 1.9, 3.0, 3.2, 1.3, 1.1, 2.2, 2.4, 3.1, 3.3],
    ... })
    >>> found = crossed_gauge(table, tolerance=4)
    >>> round(found.repeatability, 4), round(found.raw["interaction"], 4), round(found.pooled.percent_study, 2)
    (0.02, -0.0033, 16.87)
    """
    data, claim = layout(table), Claim(tolerance, confidence)
    if data.parts < 2:
        raise ValueError("table must hold at least 2 parts; got 1.")
    balanced = data.balanced_crossed
    chosen = _method(method, data, balanced=balanced)
    sums = crossed_sums(data) if balanced else adjusted_sums(data)
    found = gauge_estimates.components(_crossed(data, sums, chosen, claim), claim, method=chosen)
    against = {"part": "interaction", "operator": "interaction"} if balanced else {}
    rows = anova.rows(sums, against=against | {"interaction": "repeatability"}, total=total_sum(data))
    p = rows[2].p
    return CrossedGauge(
        **vars(found),
        pooled=gauge_estimates.components(_pooled(data, sums, chosen, claim), claim, method=chosen),
        pooling_suggested=p is not None and p > POOLING_P,
        anova=rows,
        balanced=balanced,
        n=data.total,
        parts=data.parts,
        operators=data.operators,
    )


def nested_gauge(
    table: pd.DataFrame, *, method: Method = "auto", tolerance: float | None = None, confidence: float = 0.95
) -> NestedGauge:
    """Return the variance components of a study in which every operator measures parts of their own.

    Parameters
    ----------
    table : pandas.DataFrame
        A row a value, columns part, operator (labels) and value (floats, one unit). The same label under two
        operators means two parts. At least 2 operators, one with 2 parts, and 2 values of some part.
    method : str
        ``"anova"`` (balanced data only), ``"reml"``, or ``"auto"``: analysis of variance where balanced, REML
        otherwise.
    tolerance : float, optional
        Upper less lower specification limit, above 0, in the unit of the values.
    confidence : float
        Confidence of each interval, between 0 and 1.

    Returns
    -------
    NestedGauge

    Raises
    ------
    ValueError
        If the table is not as above, a value is not a finite number, all values are equal, ``"anova"`` is asked
        of unbalanced data, REML of values equal within each part (or so nearly that its maximum is lost in
        rounding), or an argument is out of range.

    Notes
    -----
    The design of destructive tests: a strip is pulled once, so a part is a lot or pack, and its values are strips
    cut from it. What differs between the strips of one part cannot be told from the measuring and is counted as
    repeatability, which is then too large. Parts must be shared out to the operators at random: a difference
    between the operators' parts is counted as the operators'. An interaction cannot be seen.

    Intervals as for ``crossed_gauge``. In an unbalanced table only the part has an exact test.

    References
    ----------
    .. [1] AIAG (2010), Measurement Systems Analysis, 4th ed., chapter IV, non-replicable systems, from memory.
    .. [2] NIST/SEMATECH e-Handbook of Statistical Methods, 3.2.3.3, two-way nested ANOVA.
    .. [3] Searle, Casella, McCulloch (1992), Variance Components, section 4.5, from memory.

    Examples
    --------
    >>> table = pd.DataFrame({
    ...     "operator": ["Ann"] * 4 + ["Bo"] * 4,
    ...     "part": [1, 1, 2, 2, 1, 1, 2, 2],
    ...     "value": [1.0, 1.2, 2.1, 1.9, 1.3, 1.1, 2.2, 2.6],
    ... })
    >>> found = nested_gauge(table)
    >>> round(found.repeatability, 4), round(found.part, 4), round(found.raw["operator"], 4)
    (0.035, 0.545, -0.25)
    """
    data, claim = layout(table), Claim(tolerance, confidence)
    if data.counts.size == data.operators:
        raise ValueError("table must hold at least 2 parts of some operator; got 1 of each.")
    balanced = data.balanced_nested
    chosen = _method(method, data, balanced=balanced)
    sums = nested_sums(data)
    against = {"operator": "part"} if balanced else {}
    return NestedGauge(
        **vars(gauge_estimates.components(_nested(data, sums, chosen, claim), claim, method=chosen)),
        anova=anova.rows(sums, against=against | {"part": "repeatability"}),
        balanced=balanced,
        n=data.total,
        parts=data.counts.size,
        operators=data.operators,
    )


def one_way_components(
    groups: Mapping[str, ArrayLike] | Sequence[ArrayLike], *, confidence: float = 0.95
) -> OneWayComponents:
    """Return the variance between and within groups, such as lots and the strips cut from them.

    Parameters
    ----------
    groups : mapping of str to array_like, or sequence of array_like
        At least 2 groups of at least 1 value, one of at least 2, in one unit.
    confidence : float
        Confidence of each interval, between 0 and 1.

    Returns
    -------
    OneWayComponents
        Its table has the sources between, within and total.

    Raises
    ------
    ValueError
        If there are too few groups or values, a value is not a finite number, all values are equal, or
        confidence is out of range.

    Notes
    -----
    Groups are a random sample of many, normal; the spread within is the same in all. The interval within is
    exact. The one between is by modified large samples from the mean square of the unweighted group means, an
    approximation where the groups are of unequal size, poor if they are very unequal and differ little.

    References
    ----------
    .. [1] Searle, Casella, McCulloch (1992), Variance Components, section 3.6 (unbalanced), from memory.
    .. [2] Thomas and Hultquist (1978), Interval estimation for the unbalanced case of the one-way random effects
       model, Annals of Statistics 6, from memory.

    Examples
    --------
    >>> found = one_way_components({"A": [1.0, 1.2, 1.1], "B": [1.5, 1.4], "C": [1.2, 1.1, 1.3, 1.2]})
    >>> round(found.F["between"], 4), round(found.between, 4), round(found.n0, 4)
    (10.037, 0.0235, 2.8889)
    """
    confidence = checked.fraction(confidence, name="confidence")
    counts, means, ss_within = grouped(groups)
    total, number = counts.sum(), counts.size
    grand = means - counts @ means / total
    n0 = float(total - counts @ counts / total) / (number - 1)
    sums = {"between": (float(counts @ grand**2), number - 1), "within": (ss_within, int(total) - number)}
    within = ss_within / (int(total) - number)
    raw = (sums["between"][0] / (number - 1) - within) / n0
    return OneWayComponents(
        anova=anova.rows(sums, against={"between": "within"}),
        between=max(raw, 0.0),
        within=within,
        between_raw=raw,
        between_sd=math.sqrt(max(raw, 0.0)),
        within_sd=math.sqrt(within),
        total_sd=math.sqrt(max(raw, 0.0) + within),
        n0=n0,
        intervals=_one_way_intervals(counts, means, Term(within, int(total) - number), confidence),
        confidence=confidence,
    )


def _method(method: str, data: Layout, *, balanced: bool) -> str:
    checked.choice(method, name="method", options=METHODS)
    if method == "anova" and not balanced:
        raise ValueError("method must be auto or reml where the table is not balanced; got 'anova'.")
    chosen = "anova" if balanced and method == "auto" else method.replace("auto", "reml")
    if chosen == "reml" and data.ss_within == 0:
        raise ValueError("value must differ within some part and operator for REML; got all equal there.")
    return chosen


def _crossed(data: Layout, sums: Sums, method: str, claim: Claim) -> Estimates:
    weights = gauge_estimates.crossed_weights(data.count, parts=data.parts, operators=data.operators)
    by_mean_squares = gauge_estimates.from_mean_squares(sums, weights, confidence=claim.confidence)
    if method == "anova":
        return by_mean_squares
    by_fit = _fitted(*data.crossed_cells(), ("cell", "outer", "inner"), claim)
    return _best_intervals(by_fit, by_mean_squares, balanced=data.balanced_crossed)


def _pooled(data: Layout, sums: Sums, method: str, claim: Claim) -> Estimates:
    within, interaction = sums["repeatability"], sums["interaction"]
    pooled = {
        "part": sums["part"],
        "operator": sums["operator"],
        "repeatability": (within[0] + interaction[0], within[1] + interaction[1]),
    }
    weights = gauge_estimates.pooled_weights(data.count, parts=data.parts, operators=data.operators)
    by_mean_squares = gauge_estimates.from_mean_squares(pooled, weights, confidence=claim.confidence)
    if method == "anova":
        return by_mean_squares
    by_fit = _fitted(*data.crossed_cells(), ("outer", "inner"), claim)
    return _best_intervals(by_fit, by_mean_squares, balanced=data.balanced_crossed)


def _nested(data: Layout, sums: Sums, method: str, claim: Claim) -> Estimates:
    weights = gauge_estimates.nested_weights(data.count, parts=data.counts.size / data.operators)
    by_mean_squares = gauge_estimates.from_mean_squares(sums, weights, confidence=claim.confidence)
    if method == "anova":
        return by_mean_squares
    by_fit = _fitted(*data.nested_cells(), ("cell", "outer"), claim)
    return _best_intervals(by_fit, by_mean_squares, balanced=data.balanced_nested)


def _fitted(cells: Cells, names: dict[str, str], terms: tuple[str, ...], claim: Claim) -> Estimates:
    return gauge_estimates.from_fit(reml.fit(cells, terms=terms), names, confidence=claim.confidence)


def _best_intervals(by_fit: Estimates, by_mean_squares: Estimates, *, balanced: bool) -> Estimates:
    """REML's estimates; of the mean squares' intervals all where balanced, else the one that stays exact."""
    exact = by_mean_squares[1] if balanced else {"repeatability": by_mean_squares[1]["repeatability"]}
    return by_fit[0], by_fit[1] | exact


def _one_way_intervals(counts: Floats, means: Floats, within: Term, confidence: float) -> dict[str, Interval]:
    harmonic = counts.size / float(np.sum(1 / counts))
    between = Term(float(means.var(ddof=1)), counts.size - 1)  # expected: variance between + within / harmonic
    less = Term(-within.value / harmonic, within.df)
    return {
        "between": linear_interval([between, less], confidence=confidence),
        "within": linear_interval([within], confidence=confidence),
    }
