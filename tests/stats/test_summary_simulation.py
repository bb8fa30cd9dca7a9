"""Do the intervals of a summary hold the true value as often as they say? Ten thousand seeded samples each."""

from functools import lru_cache

import numpy as np
import pytest

from labrecords.stats.summary import summarise

pytestmark = pytest.mark.no_cover  # many samples: other tests show that every line is reached

SAMPLES = 10_000
MEAN, SD = 5.0, 0.8


@lru_cache
def summaries(confidence, n=8, seed=20250611):
    samples = np.random.default_rng(seed).normal(MEAN, SD, (SAMPLES, n))
    return [summarise(sample, confidence=confidence) for sample in samples]


def within_chance_of(share):
    """Four standard errors of the simulated share."""
    return pytest.approx(share, abs=4 * np.sqrt(share * (1 - share) / SAMPLES))


def share_held(intervals, truth):
    return np.mean([interval.low <= truth <= interval.high for interval in intervals])


@pytest.mark.parametrize("confidence", [0.8, 0.95])
def test_both_intervals_keep_their_confidence_on_each_side(confidence):
    found = summaries(confidence)
    for intervals, truth in (
        ([summary.mean_interval for summary in found], MEAN),
        ([summary.sd_interval for summary in found], SD),
    ):
        assert share_held(intervals, truth) == within_chance_of(confidence)
        assert np.mean([interval.low > truth for interval in intervals]) == within_chance_of((1 - confidence) / 2)


def test_the_error_of_the_mean_is_as_large_as_stated():
    found = summaries(0.95)
    assert np.mean([summary.variance for summary in found]) == pytest.approx(SD**2, rel=4 * np.sqrt(2 / 7 / SAMPLES))
    spread_of_means = np.std([summary.mean for summary in found], ddof=1)
    assert np.sqrt(np.mean([summary.sem**2 for summary in found])) == pytest.approx(spread_of_means, rel=0.04)


# --- Positive controls: the same measure fails a wrong interval


def test_an_interval_from_the_normal_quantile_is_seen():
    intervals = [
        type(summary.mean_interval)(summary.mean - 1.96 * summary.sem, summary.mean + 1.96 * summary.sem)
        for summary in summaries(0.95)
    ]
    assert share_held(intervals, MEAN) != within_chance_of(0.95)


def test_another_confidence_is_seen():
    found = summaries(0.93)
    assert share_held([summary.mean_interval for summary in found], MEAN) != within_chance_of(0.95)
    assert share_held([summary.sd_interval for summary in found], SD) != within_chance_of(0.95)


def test_another_distribution_is_seen_by_the_interval_of_the_sd():
    """The interval for the sd rests on the normal shape; exponential values break its promise."""
    samples = np.random.default_rng(8).exponential(1, (SAMPLES, 20))
    intervals = [summarise(sample).sd_interval for sample in samples]
    assert share_held(intervals, 1.0) < 0.85
