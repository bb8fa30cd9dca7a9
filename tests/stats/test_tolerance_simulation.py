"""Do the bounds keep their promise? Ten thousand seeded samples each, from known populations."""

import numpy as np
import pytest
from scipy import stats

from labrecords.stats import tolerance

pytestmark = pytest.mark.no_cover  # many samples: other tests show that every line is reached

SAMPLES = 10_000
CLAIM = {"coverage": 0.9, "confidence": 0.95}
N = 10


def normal_samples(n=N, seed=20240917):
    return np.random.default_rng(seed).normal(5, 0.8, (SAMPLES, n))


def kept(samples, bound_of, quantile):
    """Share of samples whose lower bound lies at or below the population's quantile."""
    return np.mean([bound_of(sample) <= quantile for sample in samples])


def within_chance_of(share):
    """Four standard errors of the simulated share."""
    return pytest.approx(share, abs=4 * np.sqrt(share * (1 - share) / SAMPLES))


def test_lower_bound_keeps_its_confidence():
    quantile = stats.norm.ppf(0.1, 5, 0.8)
    share = kept(normal_samples(), lambda sample: tolerance.lower_bound(sample, **CLAIM).bound, quantile)
    assert share == within_chance_of(0.95)


def test_upper_bound_keeps_its_confidence():
    quantile = stats.norm.ppf(0.9, 5, 0.8)
    share = kept(normal_samples(), lambda sample: -tolerance.upper_bound(sample, **CLAIM).bound, -quantile)
    assert share == within_chance_of(0.95)


def test_lognormal_bound_keeps_its_confidence():
    def bound(sample):
        return tolerance.lower_bound(sample, **CLAIM, model="lognormal").bound

    share = kept(np.exp(normal_samples(seed=77) / 4), bound, np.exp(stats.norm.ppf(0.1, 5, 0.8) / 4))
    assert share == within_chance_of(0.95)


def test_upper_lognormal_bound_keeps_its_confidence():
    def bound(sample):
        return -tolerance.upper_bound(sample, **CLAIM, model="lognormal").bound

    share = kept(np.exp(normal_samples(seed=78) / 4), bound, -np.exp(stats.norm.ppf(0.9, 5, 0.8) / 4))
    assert share == within_chance_of(0.95)


def test_order_statistic_with_specimens_too_weak_to_measure_keeps_the_confidence_it_states():
    """Readings below 0.05 are only counted; the bound of rank 2 is known wherever fewer than two are."""
    found = tolerance.order_statistic_rank(46, **CLAIM)
    samples = np.sort(np.random.default_rng(17).exponential(1, (SAMPLES, 46)), axis=1)
    kept_count, quantile = 0, stats.expon.ppf(0.1)
    for sample in samples:
        measured = sample[sample >= 0.05]
        try:
            bound = tolerance.order_statistic_bound(measured, **CLAIM, below=46 - measured.size).bound
        except ValueError:
            bound = 0.05  # the specimen of rank 2 was too weak to measure: the true one is lower still
        kept_count += bound <= quantile
    assert kept_count / SAMPLES == within_chance_of(found.confidence_achieved)


def two_sided_share(factor):
    samples = normal_samples(seed=1234)
    mean, sd = samples.mean(axis=1), samples.std(axis=1, ddof=1)
    inside = stats.norm.cdf(mean + factor * sd, 5, 0.8) - stats.norm.cdf(mean - factor * sd, 5, 0.8)
    return np.mean(inside >= CLAIM["coverage"])


def test_two_sided_factor_keeps_its_confidence():
    assert two_sided_share(tolerance.two_sided_factor(N, **CLAIM)) == within_chance_of(0.95)


def test_a_pooled_sd_keeps_the_confidence():
    rng = np.random.default_rng(5)
    mean = rng.normal(5, 0.8 / np.sqrt(N), SAMPLES)
    sd = 0.8 * np.sqrt(rng.chisquare(30, SAMPLES) / 30)
    bound = mean - tolerance.one_sided_factor(N, df=30, **CLAIM) * sd
    assert np.mean(bound <= stats.norm.ppf(0.1, 5, 0.8)) == within_chance_of(0.95)


def test_order_statistic_keeps_the_confidence_it_states():
    found = tolerance.order_statistic_rank(46, **CLAIM)  # two of 46
    assert found.rank == 2
    samples = np.random.default_rng(99).exponential(1, (SAMPLES, 46))
    share = kept(samples, lambda sample: tolerance.order_statistic_bound(sample, **CLAIM).bound, stats.expon.ppf(0.1))
    assert share == within_chance_of(found.confidence_achieved)


# --- Positive controls: the same measure fails a wrong factor, rank or model


@pytest.mark.parametrize("wrong_n", [N - 2, N + 2])
def test_a_factor_for_another_n_is_seen(wrong_n):
    samples = normal_samples()
    factor = tolerance.one_sided_factor(wrong_n, **CLAIM)
    bounds = samples.mean(axis=1) - factor * samples.std(axis=1, ddof=1)
    assert np.mean(bounds <= stats.norm.ppf(0.1, 5, 0.8)) != within_chance_of(0.95)
    assert two_sided_share(tolerance.two_sided_factor(wrong_n, **CLAIM)) != within_chance_of(0.95)


def test_the_next_rank_is_seen():
    samples = np.sort(np.random.default_rng(99).exponential(1, (SAMPLES, 46)), axis=1)
    found = tolerance.order_statistic_rank(46, **CLAIM)
    share = np.mean(samples[:, found.rank] <= stats.expon.ppf(0.1))
    assert share != within_chance_of(found.confidence_achieved)
    assert share < CLAIM["confidence"]


def test_the_wrong_model_is_seen():
    samples = np.random.default_rng(3).exponential(1, (SAMPLES, 46))
    share = kept(samples, lambda sample: tolerance.lower_bound(sample, **CLAIM).bound, stats.expon.ppf(0.1))
    assert share != within_chance_of(0.95)
