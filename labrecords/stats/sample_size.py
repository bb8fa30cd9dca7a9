"""How many specimens a plan needs, before any is tested; and what a run without (or with few) failures shows."""

from typing import Literal

import numpy as np
from scipy import special

from labrecords.stats import checked, factors, noncentral
from labrecords.stats.risks import risk
from labrecords.stats.sizes import (
    ROOM,
    SizeForConfidence,
    SizeForFactor,
    SizeForMean,
    SizeForPower,
    fewest,
    fewest_for_power,
)
from labrecords.stats.tails import t_quantile


def zero_failure(*, reliability: float, confidence: float, failures: int = 0) -> SizeForConfidence:
    """Return how many specimens show ``reliability`` with ``confidence`` if at most ``failures`` of them fail.

    Parameters
    ----------
    reliability : float
        Share of the population that would pass, between 0 and 1.
    confidence : float
        Between 0 and 1.
    failures : int
        Failures that are allowed, fixed before the run.

    Returns
    -------
    SizeForConfidence
        The smallest n with P(at most ``failures`` fail) <= 1 - confidence at just that reliability.

    Raises
    ------
    ValueError
        If an argument is out of range, or more than 1,000,000,000 specimens were needed.

    Notes
    -----
    Passing and failing must be settled for each specimen, independently of the others: strips of one pouch are
    not independent. Failures allowed afterwards, because they came, make the confidence false. The trade says
    "95/99" both ways round; the two are named here.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.4.1 (exact binomial limits), from memory.

    Examples
    --------
    >>> zero_failure(reliability=0.95, confidence=0.95).n
    59
    >>> zero_failure(reliability=0.95, confidence=0.95, failures=1).n
    93
    """
    reliability = checked.fraction(reliability, name="reliability")
    tail = 1 - checked.fraction(confidence, name="confidence")
    failures = checked.count(failures, name="failures")

    def enough(n: int) -> bool:  # P(at most `failures` of n fail), through the beta distribution
        return float(special.betainc(n - failures, failures + 1, reliability)) <= tail * (1 + ROOM)

    n = fewest(enough, at_least=failures + 1, lacking="reliability, confidence or failures must be less")
    return SizeForConfidence(n, float(special.betaincc(n - failures, failures + 1, reliability)))


def reliability_bound(n: int, failures: int, *, confidence: float) -> float:
    """Return the share of the population that would pass, at least, after ``failures`` of ``n`` failed.

    Parameters
    ----------
    n : int
        Specimens tested, at least 1.
    failures : int
        How many failed, 0 to n.
    confidence : float
        Of the one-sided bound, between 0 and 1.

    Returns
    -------
    float
        Exact lower bound (Clopper and Pearson's); 0 if all failed.

    Raises
    ------
    ValueError
        If an argument is out of range.

    Notes
    -----
    Conservative: the confidence is at least what is stated, since failures are whole numbers. Assumes
    independent specimens.

    References
    ----------
    .. [1] Clopper and Pearson (1934), The use of confidence or fiducial limits illustrated in the case of the
       binomial, Biometrika 26(4), from memory.

    Examples
    --------
    >>> round(reliability_bound(59, 0, confidence=0.95), 5)
    0.95049
    """
    n = checked.count(n, name="n", at_least=1)
    failures = checked.count(failures, name="failures")
    confidence = checked.fraction(confidence, name="confidence")
    if failures > n:
        raise ValueError(f"failures must be at most n, {n}; got {failures}.")
    return float(special.betaincinv(n - failures, failures + 1, 1 - confidence)) if failures < n else 0.0


def for_factor(*, coverage: float, confidence: float, factor: float) -> SizeForFactor:
    """Return how many specimens bring the one-sided tolerance factor down to ``factor``.

    Parameters
    ----------
    coverage : float
        Share of the population beyond the bound's safe side, from 0.5 up to below 1.
    confidence : float
        Between 0 and 1.
    factor : float
        What the plan can afford: the expected mean less the limit, over the expected standard deviation.

    Returns
    -------
    SizeForFactor
        The smallest n of at least 2 whose exact factor is no larger.

    Raises
    ------
    ValueError
        If an argument is out of range, the factor does not exceed the normal quantile of the coverage (which no
        number of specimens undercuts), or more than 1,000,000,000 specimens were needed.

    Notes
    -----
    With this n a bound meets the limit about half of the time, if mean and standard deviation come out as
    expected: plan for a factor smaller than expected. Coverage below 0.5 is refused, because the
    factor does not fall steadily with n there. Assumes one normal distribution.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3, factors based on the non-central t.

    Examples
    --------
    >>> for_factor(coverage=0.95, confidence=0.95, factor=2.22).n
    30
    """
    coverage = checked.fraction(coverage, name="coverage")
    confidence = checked.fraction(confidence, name="confidence")
    factor = checked.finite(factor, name="factor")
    quantile = float(special.ndtri(coverage))
    if coverage < 0.5:
        raise ValueError(f"coverage must be 0.5 or more; got {coverage!r}.")
    if factor <= quantile:
        raise ValueError(f"factor must be above {quantile:.6g}, the normal quantile of the coverage; got {factor!r}.")

    def enough(n: int) -> bool:
        root = np.sqrt(n)
        return noncentral.above(factor * root, n - 1, quantile * root) <= (1 - confidence) * (1 + ROOM)

    n = fewest(enough, at_least=2, lacking="factor must be larger")
    return SizeForFactor(n, factors.one_sided(n, float(n - 1), coverage, confidence))


def for_two_means(
    *, sd: float, difference: float, alpha: float, power: float, sides: Literal[1, 2] = 2
) -> SizeForPower:
    """Return how many specimens in each of two groups show a difference of means by the t test.

    Parameters
    ----------
    sd : float
        Standard deviation within each group, above 0.
    difference : float
        True difference of the means that must be found, not 0, in the unit of ``sd``; its sign does not matter.
    alpha : float
        Risk of a difference being claimed where there is none, from 1e-100 up to below 1.
    power : float
        Probability of finding the difference, between 0 and 1.
    sides : int
        2, or 1 where only the direction of ``difference`` would be claimed.

    Returns
    -------
    SizeForPower
        The smallest n of at least 2 for each group. Exact, by the non-central t; a rejection in the wrong direction
        counts to the two-sided power.

    Raises
    ------
    ValueError
        If an argument is out of range, or more than 1,000,000,000 specimens were needed.

    Notes
    -----
    The standard deviation is a guess when the plan is made; a true one half as large again needs more than twice the
    specimens. Assumes independent normal values of equal spread. Strips of one pouch are not independent.

    References
    ----------
    .. [1] Cohen (1988), Statistical Power Analysis for the Behavioral Sciences, 2nd ed., chapter 2, from memory.

    Examples
    --------
    >>> found = for_two_means(sd=1, difference=1, alpha=0.05, power=0.9)
    >>> found.n, round(found.power_achieved, 4)
    (23, 0.9125)
    """
    sd, distance = checked.positive(sd, name="sd"), abs(checked.finite(difference, name="difference"))
    alpha, power = risk(alpha, name="alpha"), checked.fraction(power, name="power")
    ways = _sides(sides)
    if distance == 0:
        raise ValueError(f"difference must not be 0; got {difference!r}.")

    def achieved(n: int) -> float:
        df, shift = 2 * n - 2, _errors(distance, sd, n)
        critical = t_quantile(alpha / ways, df)
        wrong_way = noncentral.below(-critical, df, shift) if ways == 2 else 0.0
        return noncentral.above(critical, df, shift) + wrong_way

    return fewest_for_power(achieved, power, lacking="difference over sd must be larger")


def for_equivalence(
    *, sd: float, margin: float, true_difference: float = 0, alpha: float, power: float
) -> SizeForPower:
    """Return how many specimens in each of two groups show that their means differ by less than ``margin``.

    Parameters
    ----------
    sd : float
        Standard deviation within each group, above 0.
    margin : float
        Largest difference that does not matter, above 0, set before the test.
    true_difference : float
        What the means are expected to differ by, less than ``margin`` in size.
    alpha : float
        Risk of each of the two one-sided tests, from 1e-100 up to below 0.5.
    power : float
        Probability of showing equivalence, between 0 and 1.

    Returns
    -------
    SizeForPower
        The smallest n of at least 2 for each group. Exact: the probability that both tests reject, averaged over the
        standard deviation, not the normal approximation.

    Raises
    ------
    ValueError
        If an argument is out of range, or more than 1,000,000,000 specimens were needed.

    Notes
    -----
    A true difference of 0 is the kindest assumption there is; a small one is honest and needs more. Assumes
    independent normal values of equal spread.

    References
    ----------
    .. [1] Schuirmann (1987), A comparison of the two one-sided tests procedure and the power approach, Journal of
       Pharmacokinetics and Biopharmaceutics 15(6), from memory.
    .. [2] Owen (1965), A special case of a bivariate non-central t-distribution, Biometrika 52, from memory.

    Examples
    --------
    >>> found = for_equivalence(sd=1, margin=1, alpha=0.05, power=0.9)
    >>> found.n, round(found.power_achieved, 4)
    (23, 0.9096)
    """
    sd, margin = checked.positive(sd, name="sd"), checked.positive(margin, name="margin")
    truth = checked.finite(true_difference, name="true_difference")
    alpha, power = risk(alpha, name="alpha"), checked.fraction(power, name="power")
    if abs(truth) >= margin:
        raise ValueError(f"true_difference must be less than margin, {margin!r}, in size; got {truth!r}.")
    if alpha >= 0.5:
        raise ValueError(f"alpha must be below 0.5 for equivalence; got {alpha!r}.")

    def achieved(n: int) -> float:
        df = 2 * n - 2
        low, high = _errors(-margin - truth, sd, n), _errors(margin - truth, sd, n)
        return noncentral.between(t_quantile(alpha, df), df, low, high)

    return fewest_for_power(achieved, power, lacking="margin less true_difference over sd must be larger")


def for_mean(*, sd: float, half_width: float, confidence: float) -> SizeForMean:
    """Return how many specimens give the mean an interval of at most ``half_width`` to either side.

    Parameters
    ----------
    sd : float
        Expected standard deviation, above 0.
    half_width : float
        Wanted, above 0, in the unit of ``sd``.
    confidence : float
        Of the two-sided t interval, between 0 and 1.

    Returns
    -------
    SizeForMean
        The smallest n of at least 2.

    Raises
    ------
    ValueError
        If an argument is out of range, or more than 1,000,000,000 specimens were needed.

    Notes
    -----
    The interval is that short if the standard deviation comes out as expected; it will be longer about half of the
    time.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.2 (the interval), 7.2.2.2 (its sample size), the
       latter from memory.

    Examples
    --------
    >>> found = for_mean(sd=0.1, half_width=0.05, confidence=0.95)
    >>> found.n, round(found.half_width_achieved, 4)
    (18, 0.0497)
    """
    sd, half_width = checked.positive(sd, name="sd"), checked.positive(half_width, name="half_width")
    tail = (1 - checked.fraction(confidence, name="confidence")) / 2

    def achieved(n: int) -> float:
        return t_quantile(tail, n - 1) / float(np.sqrt(n)) * sd

    n = fewest(
        lambda n: achieved(n) <= half_width * (1 + ROOM), at_least=2, lacking="half_width over sd must be larger"
    )
    return SizeForMean(n, achieved(n))


def two_sided_order_statistics(*, coverage: float, confidence: float) -> SizeForConfidence:
    """Return how many values make smallest to largest a tolerance interval, whatever their distribution.

    Parameters
    ----------
    coverage, confidence : float
        Between 0 and 1.

    Returns
    -------
    SizeForConfidence
        The smallest n of at least 2 with 1 - n p**(n - 1) + (n - 1) p**n >= confidence, p the coverage.

    Raises
    ------
    ValueError
        If an argument is out of range, or more than 1,000,000,000 values were needed.

    Notes
    -----
    For independent values of one continuous population. The share is of the whole interval; neither tail is bounded
    by itself: see ``zero_failure`` for one end.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.4, tolerance intervals from the extremes.
    .. [2] Wilks (1941), Determination of sample sizes for setting tolerance limits, Annals of Mathematical
       Statistics 12(1), from memory.

    Examples
    --------
    >>> two_sided_order_statistics(coverage=0.95, confidence=0.95).n
    93
    """
    coverage = checked.fraction(coverage, name="coverage")
    tail = 1 - checked.fraction(confidence, name="confidence")

    def enough(n: int) -> bool:  # the share between the extremes is a beta (n - 1, 2) variable
        return float(special.betainc(n - 1, 2, coverage)) <= tail * (1 + ROOM)

    n = fewest(enough, at_least=2, lacking="coverage or confidence must be less")
    return SizeForConfidence(n, float(special.betaincc(n - 1, 2, coverage)))


def _errors(distance: float, sd: float, n: int) -> float:
    """A distance in standard errors of the difference of two means of ``n`` each, kept within doubles."""
    return float(np.clip(distance / sd, -1e150, 1e150) * np.sqrt(n / 2))


def _sides(sides: int) -> int:
    if sides not in (1, 2) or isinstance(sides, bool):
        raise ValueError(f"sides must be 1 or 2; got {sides!r}.")
    return int(sides)
