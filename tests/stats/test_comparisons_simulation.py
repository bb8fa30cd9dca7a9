"""Do intervals, tests and bounds keep their promise? Ten thousand seeded samples each, from known populations."""

import itertools
import math

import numpy as np
import pytest
from scipy import stats

from labrecords.stats import comparisons, multiplicity, tails, window

pytestmark = pytest.mark.no_cover  # many samples: other tests show that every line is reached

SAMPLES = 10_000
SIZES = (4, 9, 6)
X = np.array([120, 120, 126, 126, 133, 139, 146, 146], dtype=float)


def within_chance_of(share):
    """Four standard errors of the simulated share."""
    return pytest.approx(share, abs=4 * np.sqrt(share * (1 - share) / SAMPLES))


def samples(*shapes, seed=20240917):
    """Normal samples, one array for each pair of number and standard deviation, about a mean of 5."""
    rng = np.random.default_rng(seed)
    return [rng.normal(5, sd, (SAMPLES, n)) for n, sd in shapes]


def pairs_within(groups, critical, pairs):
    """Share of samples in which no t statistic of the pairs exceeds its critical value."""
    df = sum(group.shape[1] - 1 for group in groups)
    variance = sum(group.var(axis=1, ddof=1) * (group.shape[1] - 1) for group in groups) / df
    held = np.ones(SAMPLES, dtype=bool)
    for one, other in pairs:
        error = np.sqrt(variance * (1 / groups[one].shape[1] + 1 / groups[other].shape[1]))
        held &= np.abs(groups[one].mean(axis=1) - groups[other].mean(axis=1)) <= critical * error
    return held.mean()


def welch_share(confidence):
    """Equal numbers: there Welch's approximation is at its best."""
    found = (
        comparisons.welch(a, b, confidence=confidence).interval
        for a, b in zip(*samples((10, 0.2), (10, 0.5)), strict=True)
    )
    return np.mean([low <= 0 <= high for low, high in found])


def test_welch_s_interval_keeps_its_confidence():
    assert welch_share(0.95) == within_chance_of(0.95)


def test_another_confidence_is_seen():
    assert welch_share(0.93) != within_chance_of(0.95)


def test_the_ratio_of_variances_keeps_its_confidence():
    found = (
        comparisons.variance_ratio(a, b, confidence=0.9).interval
        for a, b in zip(*samples((7, 0.2), (10, 0.4)), strict=True)
    )
    assert np.mean([low <= 0.25 <= high for low, high in found]) == within_chance_of(0.9)


def test_fieller_s_interval_keeps_its_confidence():
    a, b = samples((7, 1.0), (5, 1.0))
    found = (
        comparisons.equivalence_ratio(one, other, low=0.5, high=2).interval for one, other in zip(a + 1, b, strict=True)
    )
    assert np.mean([low <= 6 / 5 <= high for low, high in found]) == within_chance_of(0.9)


@pytest.mark.parametrize(("alpha", "holds"), [(0.05, True), (0.07, False)])
def test_means_at_a_limit_are_called_equivalent_with_the_stated_risk(alpha, holds):
    a, b = samples((8, 0.2), (8, 0.2), seed=7)
    called = [
        comparisons.equivalence(one + 0.8, other, low=-0.8, high=0.8, alpha=alpha, equal_spread=True).equivalent
        for one, other in zip(a, b, strict=True)
    ]
    assert bool(np.mean(called) == within_chance_of(0.05)) is holds


def dunnett_share(critical):
    return pairs_within(samples(*((n, 0.4) for n in SIZES)), critical, [(1, 0), (2, 0)])


def test_dunnett_s_intervals_hold_together():
    df = sum(SIZES) - len(SIZES)
    critical = multiplicity.dunnett_critical(0.05, reference=SIZES[0], others=SIZES[1:], df=df)
    assert dunnett_share(critical) == within_chance_of(0.95)
    groups = dict(zip("abc", (np.arange(n) % 3 for n in SIZES), strict=True))
    assert comparisons.many_to_one(groups, reference="a").critical_value == pytest.approx(critical, rel=1e-13)


def test_critical_values_of_another_design_are_seen():
    df = sum(SIZES) - len(SIZES)
    assert dunnett_share(tails.t_quantile(0.025, df)) != within_chance_of(0.95)
    three = multiplicity.dunnett_critical(0.05, reference=SIZES[0], others=(*SIZES[1:], 6), df=df)
    assert dunnett_share(three) != within_chance_of(0.95)


@pytest.mark.parametrize(("groups", "holds"), [(4, True), (3, False), (5, False)])
def test_tukey_s_intervals_hold_together(groups, holds):
    """Four groups of equal size, judged by the critical value for as many groups as said."""
    critical = multiplicity.range_critical(0.05, groups=groups, df=20) / math.sqrt(2)
    share = pairs_within(samples(*[(6, 0.4)] * 4), critical, itertools.combinations(range(4), 2))
    assert bool(share == within_chance_of(0.95)) is holds


def test_brown_forsythe_is_not_too_eager():
    """Approximate, and known to be careful for few values: its risk must not exceed the stated one."""
    groups = samples(*[(9, 0.4)] * 3)
    p_values = [comparisons.brown_forsythe(*values).p_value for values in zip(*groups, strict=True)]
    assert 0.02 < np.mean(np.array(p_values) < 0.05) < 0.055


def test_bartlett_keeps_its_risk_for_normal_values():
    groups = samples(*[(9, 0.4)] * 3)
    p_values = [comparisons.bartlett(*values).p_value for values in zip(*groups, strict=True)]
    assert np.mean(np.array(p_values) < 0.05) == within_chance_of(0.05)


def band_share(at, wrong_by=0):
    """Share of samples whose tolerance bound at a setting lies below the tenth percentile there."""
    shape = window.strength_against_setting(X, X + np.arange(X.size) % 3, coverage=0.9, confidence=0.95, at=[at])
    (point,) = shape.band
    factor = (point.fitted - point.tolerance_low) / shape.residual_sd + wrong_by
    strengths = np.random.default_rng(11).normal(0.02 * X - 1.4, 0.1, (SAMPLES, X.size))
    design = np.vander(X, 2)
    fit = np.linalg.lstsq(design, strengths.T, rcond=None)[0]
    sd = np.sqrt(((strengths.T - design @ fit) ** 2).sum(axis=0) / shape.df)
    bound = at * fit[0] + fit[1] - factor * sd
    return np.mean(bound <= stats.norm.ppf(0.1, 0.02 * at - 1.4, 0.1))


@pytest.mark.parametrize("at", [120, 131, 146])
def test_the_tolerance_band_keeps_its_confidence(at):
    assert band_share(at) == within_chance_of(0.95)


def test_a_band_that_is_off_is_seen():
    assert band_share(131, wrong_by=0.2) != within_chance_of(0.95)
    assert band_share(131, wrong_by=-0.2) != within_chance_of(0.95)
