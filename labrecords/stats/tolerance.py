"""Tolerance bounds: what a stated share of all specimens lies above (or below), with stated confidence."""

import bisect
import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from labrecords.stats import checked, factors
from labrecords.stats.checked import Floats
from labrecords.stats.moments import moments

Model = Literal["normal", "lognormal"]
MODELS = ("normal", "lognormal")


@dataclass(frozen=True)
class ToleranceBound:
    """A one-sided tolerance bound.

    Attributes
    ----------
    bound : float
        In the unit of the values.
    factor : float
        How many standard deviations the bound lies from the mean.
    mean, sd : float
        Of the values; of their natural logarithms where the model is lognormal.
    n : int
        Number of values.
    model : str
        ``"normal"`` or ``"lognormal"``.
    coverage, confidence : float
        What the bound claims.
    """

    bound: float
    factor: float
    mean: float
    sd: float
    n: int
    model: str
    coverage: float
    confidence: float


@dataclass(frozen=True)
class OrderStatisticRank:
    """Which order statistic is the bound (1 is the weakest specimen), and the confidence it really has."""

    rank: int
    confidence_achieved: float


@dataclass(frozen=True)
class OrderStatisticBound:
    """A lower bound that is a measured value: its rank among all specimens, and its real confidence."""

    bound: float
    rank: int
    confidence_achieved: float


def one_sided_factor(n: int, *, coverage: float, confidence: float, df: float | None = None) -> float:
    """Return the factor k of a one-sided normal tolerance bound, mean - k sd or mean + k sd.

    Parameters
    ----------
    n : int
        Number of values behind the mean, at least 2 (1 where ``df`` is given).
    coverage : float
        Share of the population beyond the bound's safe side, between 0 and 1.
    confidence : float
        Share of such bounds that keep the promise, between 0 and 1.
    df : float, optional
        Degrees of freedom of the standard deviation, at least 1; n - 1 if left out. More where it is pooled.

    Returns
    -------
    float
        Exact: a quantile of the non-central t distribution with noncentrality z_coverage sqrt(n), over
        sqrt(n). Thirteen digits hold to n = 1000, eight far beyond 100,000.

    Raises
    ------
    ValueError
        If an argument is out of range, or the quantile lies beyond what can be computed.

    Notes
    -----
    Holds for independent values of one normal distribution. Coverage far in the tail (0.99 and more) rests
    on the shape of that tail, which a few dozen values cannot show.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3, tolerance factors based on the
       non-central t.
    .. [2] Hahn, Meeker, Escobar (2017), Statistical Intervals, 2nd ed., section 4.6.3, from memory.

    Examples
    --------
    >>> round(one_sided_factor(10, coverage=0.95, confidence=0.95), 3)
    2.911
    """
    n = checked.count(n, name="n", at_least=2 if df is None else 1)
    degrees = float(n - 1) if df is None else checked.at_least(df, 1, name="df")
    coverage, confidence = _claim(coverage, confidence)
    return factors.one_sided(n, degrees, coverage, confidence)


def two_sided_factor(n: int, *, coverage: float, confidence: float) -> float:
    """Return the factor k of a two-sided normal tolerance interval, mean - k sd to mean + k sd.

    Parameters
    ----------
    n : int
        Number of values, at least 2.
    coverage : float
        Share of the population within the interval, between 0 and 1.
    confidence : float
        Share of such intervals that keep the promise, between 0 and 1.

    Returns
    -------
    float
        Exact: the root of the confidence integral, not Howe's approximation. Thirteen digits hold to n = 1000.

    Raises
    ------
    ValueError
        If an argument is out of range, or coverage is below 1e-6.

    Notes
    -----
    Holds for independent values of one normal distribution. The share is of the whole interval; neither
    tail is bounded by itself.

    References
    ----------
    .. [1] ISO 16269-6:2014, Determination of statistical tolerance intervals, annex on the exact factor,
       from memory.
    .. [2] NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3 (Howe's approximation).

    Examples
    --------
    >>> round(two_sided_factor(10, coverage=0.95, confidence=0.95), 3)
    3.393
    """
    n = checked.count(n, name="n", at_least=2)
    return factors.two_sided(n, *_claim(coverage, confidence))


def lower_bound(values: ArrayLike, *, coverage: float, confidence: float, model: Model = "normal") -> ToleranceBound:
    """Return the value that at least ``coverage`` of the population lies above, with ``confidence``.

    Parameters
    ----------
    values : array_like, one-dimensional, at least 2 values
        Independent results of one population. Above 0 where the model is lognormal.
    coverage, confidence : float
        Between 0 and 1.
    model : str
        ``"normal"``, or ``"lognormal"``: the bound is computed on natural logarithms and turned back.

    Returns
    -------
    ToleranceBound

    Raises
    ------
    ValueError
        If there are fewer than 2 values, one is not a finite number (or not above 0 for the lognormal
        model), or an argument is out of range.

    Notes
    -----
    Misleads where the values are not of one distribution of the model's shape: several lots, drift, breaks
    mixed with peels. Values that are all equal give a bound equal to them, which shows the reading's
    resolution only.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3.

    Examples
    --------
    >>> found = lower_bound([1.42, 1.51, 1.38, 1.47, 1.55], coverage=0.95, confidence=0.95)
    >>> round(found.bound, 4), round(found.factor, 4)
    (1.18, 4.2027)
    """
    return _bound(values, coverage=coverage, confidence=confidence, model=model, sign=-1)


def upper_bound(values: ArrayLike, *, coverage: float, confidence: float, model: Model = "normal") -> ToleranceBound:
    """Return the value that at least ``coverage`` of the population lies below, with ``confidence``.

    Parameters, result, errors and cautions as ``lower_bound``.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3.

    Examples
    --------
    >>> round(upper_bound([1.42, 1.51, 1.38, 1.47, 1.55], coverage=0.95, confidence=0.95).bound, 4)
    1.752
    """
    return _bound(values, coverage=coverage, confidence=confidence, model=model, sign=1)


def order_statistic_rank(n: int, *, coverage: float, confidence: float) -> OrderStatisticRank:
    """Return the largest rank whose order statistic is a lower tolerance bound, whatever the distribution.

    Parameters
    ----------
    n : int
        Number of specimens, at least 1.
    coverage, confidence : float
        Between 0 and 1.

    Returns
    -------
    OrderStatisticRank
        Rank counted from the weakest, 1.

    Raises
    ------
    ValueError
        If an argument is out of range, or n is too small for even the weakest to be a bound; the sentence
        says how many are needed.

    Notes
    -----
    The r-th smallest of n is a bound with the probability that at least r of n fall in the share 1 -
    coverage.

    References
    ----------
    .. [1] Hahn, Meeker, Escobar (2017), Statistical Intervals, 2nd ed., section 5.3, from memory.
    .. [2] NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.4, tolerance intervals from the extremes.

    Examples
    --------
    >>> order_statistic_rank(59, coverage=0.95, confidence=0.95).rank
    1
    >>> order_statistic_rank(93, coverage=0.95, confidence=0.95).rank
    2
    """
    n = checked.count(n, name="n", at_least=1)
    coverage, confidence = _claim(coverage, confidence)

    def achieved(rank: int) -> float:  # at least `rank` of n in the share 1 - coverage
        return float(special.betaincc(n - rank + 1, rank, coverage))

    rank = bisect.bisect_left(range(1, n + 1), True, key=lambda rank: achieved(rank) < confidence)
    if rank == 0:
        raise ValueError(
            f"n must be at least {_fewest(coverage, confidence)} for coverage {coverage:g} "
            f"with confidence {confidence:g}; got {n}."
        )
    return OrderStatisticRank(rank=rank, confidence_achieved=achieved(rank))


def order_statistic_bound(
    values: ArrayLike, *, coverage: float, confidence: float, below: int = 0, above: int = 0
) -> OrderStatisticBound:
    """Return a lower tolerance bound that is one of the values, whatever their distribution.

    Parameters
    ----------
    values : array_like, one-dimensional, at least 1 value
        What was measured, in one unit.
    coverage, confidence : float
        Between 0 and 1.
    below, above : int
        How many more were too weak to measure (weaker than every value), and too strong (stronger than
        every value).

    Returns
    -------
    OrderStatisticBound
        Rank counted among all specimens, from the weakest.

    Raises
    ------
    ValueError
        If an argument is out of range, there are too few specimens, or the bound is among those not measured.

    References
    ----------
    .. [1] Hahn, Meeker, Escobar (2017), Statistical Intervals, 2nd ed., section 5.3, from memory.

    Examples
    --------
    >>> found = order_statistic_bound(range(101, 201), coverage=0.9, confidence=0.95, below=2)
    >>> found.bound, found.rank, round(found.confidence_achieved, 4)
    (103.0, 5, 0.9794)
    """
    data = np.sort(checked.array(values))
    below, above = checked.count(below, name="below"), checked.count(above, name="above")
    found = order_statistic_rank(data.size + below + above, coverage=coverage, confidence=confidence)
    place = found.rank - below
    if not 1 <= place <= data.size:
        weak = "weak" if place < 1 else "strong"
        raise ValueError(
            f"values must hold the bound, the specimen of rank {found.rank}; it was too {weak} to measure."
        )
    return OrderStatisticBound(
        bound=float(data[place - 1]), rank=found.rank, confidence_achieved=found.confidence_achieved
    )


def _claim(coverage: float, confidence: float) -> tuple[float, float]:
    return checked.fraction(coverage, name="coverage"), checked.fraction(confidence, name="confidence")


def _bound(values: ArrayLike, *, coverage: float, confidence: float, model: Model, sign: int) -> ToleranceBound:
    data = _modelled(values, model=checked.choice(model, name="model", options=MODELS))
    found = moments(data)
    factor = one_sided_factor(found.n, coverage=coverage, confidence=confidence)
    return ToleranceBound(
        bound=_turned_back(found.mean + sign * factor * found.sd, model=model),
        factor=factor,
        mean=found.mean,
        sd=found.sd,
        n=found.n,
        model=model,
        coverage=float(coverage),
        confidence=float(confidence),
    )


def _modelled(values: ArrayLike, *, model: str) -> Floats:
    data = checked.array(values, at_least=2)
    if model == "normal":
        return data
    if data.min() <= 0:
        raise ValueError(f"values must be above 0 for the lognormal model; got {float(data.min())!r}.")
    logs: Floats = np.log(data)
    return logs


def _turned_back(bound: float, *, model: str) -> float:
    try:
        return bound if model == "normal" else math.exp(bound)
    except OverflowError:
        raise ValueError(
            f"values must be more, or closer together, for a lognormal bound; got exp({bound:g})."
        ) from None


def _fewest(coverage: float, confidence: float) -> int:
    return int(np.ceil(np.log1p(-confidence) / np.log(coverage)))
