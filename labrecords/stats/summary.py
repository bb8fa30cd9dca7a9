"""What a set of results says, in a few numbers."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from labrecords.stats import checked
from labrecords.stats.checked import Floats
from labrecords.stats.interval import Interval
from labrecords.stats.moments import Moments, moments


@dataclass(frozen=True)
class Summary:
    """Summary of measured values, in the unit of the values.

    Attributes
    ----------
    n : int
        Number of values.
    mean, sd, variance, sem : float
        Mean; standard deviation and variance with n - 1 degrees of freedom; standard error of the mean.
    cv : float or None
        sd over mean, as a share (0.05 is 5 %); None unless the mean is above 0.
    minimum, q1, median, q3, maximum, range : float
        Order statistics; quartiles interpolated linearly between order statistics (Hyndman and Fan's type 7).
    mad : float
        Median absolute deviation from the median, not scaled to a standard deviation.
    skewness : float or None
        Bias-adjusted (G1); None below 3 values or without spread.
    kurtosis : float or None
        Bias-adjusted excess (G2, 0 for a normal distribution); None below 4 values or without spread.
    mean_interval, sd_interval : Interval
        Two-sided confidence intervals, exact for independent normal values.
    confidence : float
        Confidence of both intervals.
    """

    n: int
    mean: float
    sd: float
    variance: float
    cv: float | None
    sem: float
    minimum: float
    maximum: float
    range: float
    median: float
    q1: float
    q3: float
    mad: float
    skewness: float | None
    kurtosis: float | None
    mean_interval: Interval
    sd_interval: Interval
    confidence: float


@dataclass(frozen=True)
class CensoredSummary:
    """What is known when some specimens were too weak or too strong to measure.

    Attributes
    ----------
    n, below, above, total : int
        Values measured, too weak to measure, too strong to measure, and all together.
    smallest, largest : float or None
        Of the values measured; None if there is none.
    minimum, q1, median, q3, maximum : float or None
        Of all specimens; None where the answer lies among those that could not be measured.
    """

    n: int
    below: int
    above: int
    total: int
    smallest: float | None
    largest: float | None
    minimum: float | None
    q1: float | None
    median: float | None
    q3: float | None
    maximum: float | None


def summarise(values: ArrayLike, *, confidence: float = 0.95) -> Summary:
    """Summarise measured values.

    Parameters
    ----------
    values : array_like, one-dimensional, at least 2 values
        Results of one kind, in one unit.
    confidence : float
        Of the two intervals, between 0 and 1.

    Returns
    -------
    Summary

    Raises
    ------
    ValueError
        If there are fewer than 2 values, one is not a finite number, or the confidence is outside (0, 1).

    Notes
    -----
    The intervals take the values as independent and normally distributed; the one for the standard
    deviation is sensitive to both. Skewness and kurtosis of fewer than about 30 values vary so much that
    they decide nothing.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.2 (mean), 7.2.3.1 (standard deviation).
    .. [2] Joanes and Gill (1998), Comparing measures of sample skewness and kurtosis, The Statistician 47,
       G1 and G2.
    .. [3] Hyndman and Fan (1996), Sample quantiles in statistical packages, The American Statistician
       50(4), type 7.

    Examples
    --------
    >>> summary = summarise([1.42, 1.51, 1.38, 1.47, 1.55])
    >>> round(summary.mean, 3), round(summary.sd, 4), summary.median
    (1.466, 0.068, 1.47)
    >>> [round(limit, 4) for limit in summary.mean_interval]
    [1.3815, 1.5505]
    """
    data = np.sort(checked.array(values, at_least=2))  # sorted once: the order of the values changes nothing
    confidence = checked.fraction(confidence, name="confidence")
    found = moments(data)
    q1, median, q3 = (_quantile(data, place=(found.n - 1) * share) for share in (0.25, 0.5, 0.75))
    distances = np.sort(np.abs(data - median))
    skewness, kurtosis = _shape(data, found)
    sem = found.sd / np.sqrt(found.n)
    return Summary(
        n=found.n,
        mean=found.mean,
        sd=found.sd,
        variance=found.sd**2,
        cv=found.sd / found.mean if found.mean > 0 else None,
        sem=float(sem),
        minimum=float(data[0]),
        maximum=float(data[-1]),
        range=float(data[-1] - data[0]),
        median=median,
        q1=q1,
        q3=q3,
        mad=_quantile(distances, place=(found.n - 1) / 2),
        skewness=skewness,
        kurtosis=kurtosis,
        mean_interval=_mean_interval(found, confidence),
        sd_interval=_sd_interval(found, confidence),
        confidence=confidence,
    )


def summarise_censored(values: ArrayLike, *, below: int = 0, above: int = 0) -> CensoredSummary:
    """Summarise values of which some were only "too weak to measure" or "at least".

    Parameters
    ----------
    values : array_like, one-dimensional, may be empty
        What was measured.
    below, above : int
        How many more were weaker than every value measured, and stronger than every value measured.

    Returns
    -------
    CensoredSummary
        No mean and no standard deviation: they cannot be known.

    Raises
    ------
    ValueError
        If a value is not a finite number, a count is negative, or there is no specimen at all.

    Notes
    -----
    A strip that broke outside the seal at a force within the range of the others is not "stronger than
    every value": leave such a set to a person. Quantiles are interpolated linearly and known when both
    neighbours were measured.

    References
    ----------
    .. [1] Hyndman and Fan (1996), Sample quantiles in statistical packages, The American Statistician
       50(4), type 7.

    Examples
    --------
    >>> censored = summarise_censored([0.3, 0.5, 0.6, 0.9], below=1)
    >>> censored.median, censored.minimum, censored.maximum
    (0.5, None, 0.9)
    """
    data = np.sort(checked.array(values, at_least=0))
    below, above = checked.count(below, name="below"), checked.count(above, name="above")
    total = data.size + below + above
    if total == 0:
        raise ValueError("values must hold at least 1 number where below and above are 0; got 0.")
    quantile = [_known_quantile(data, place=(total - 1) * share - below) for share in (0, 0.25, 0.5, 0.75, 1)]
    return CensoredSummary(
        n=data.size,
        below=below,
        above=above,
        total=total,
        smallest=float(data[0]) if data.size else None,
        largest=float(data[-1]) if data.size else None,
        minimum=quantile[0],
        q1=quantile[1],
        median=quantile[2],
        q3=quantile[3],
        maximum=quantile[4],
    )


def _shape(data: Floats, found: Moments) -> tuple[float | None, float | None]:
    if found.sd == 0 or found.n < 3:
        return None, None
    n = found.n
    scaled = (data - found.mean) / (found.sd * np.sqrt((n - 1) / n))
    squares = scaled * scaled
    skewness = float((squares * scaled).mean()) * np.sqrt(n * (n - 1)) / (n - 2)
    if n < 4:
        return float(skewness), None
    excess = float((squares * squares).mean()) - 3
    return float(skewness), (n - 1) / ((n - 2) * (n - 3)) * ((n + 1) * excess + 6)


def _mean_interval(found: Moments, confidence: float) -> Interval:
    half = special.stdtrit(found.n - 1, (1 + confidence) / 2) * found.sd / np.sqrt(found.n)
    return Interval(float(found.mean - half), float(found.mean + half))


def _sd_interval(found: Moments, confidence: float) -> Interval:
    df, tail = found.n - 1, (1 - confidence) / 2
    low, high = (found.sd * np.sqrt(df / special.chdtri(df, share)) for share in (tail, 1 - tail))
    return Interval(float(low), float(high))


def _known_quantile(data: Floats, *, place: float) -> float | None:
    return _quantile(data, place=place) if 0 <= place <= data.size - 1 else None


def _quantile(data: Floats, *, place: float) -> float:
    """Between the sorted values on either side of ``place``, which counts from 0."""
    left, right = int(np.floor(place)), int(np.ceil(place))
    return float(data[left] + (place - left) * (data[right] - data[left]))
