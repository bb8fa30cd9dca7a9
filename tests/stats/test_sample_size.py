import dataclasses
import operator

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from labrecords.stats import sample_size, tolerance
from labrecords.stats.risks import risk

SAMPLES = 10_000
SHARES = st.floats(0.05, 0.999)
PLAN = {"sd": 1, "difference": 1, "alpha": 0.05, "power": 0.9}
EQUIVALENCE = {"sd": 1, "margin": 1, "alpha": 0.05, "power": 0.9}
FACTOR = {"coverage": 0.95, "confidence": 0.95, "factor": 3}
MEAN = {"sd": 1, "half_width": 0.5, "confidence": 0.95}


def within_chance_of(share):
    """Four standard errors of the simulated share."""
    return pytest.approx(share, abs=4 * np.sqrt(share * (1 - share) / SAMPLES))


# --- A result is a number


def test_a_size_serves_as_a_whole_number():
    found = sample_size.zero_failure(reliability=0.95, confidence=0.95)
    assert (int(found), operator.index(found), len(range(found))) == (59, 59, 59)
    with pytest.raises(dataclasses.FrozenInstanceError):
        found.n = 1


# --- Runs without (or with few) failures


@given(reliability=SHARES, confidence=SHARES, failures=st.integers(0, 20))
def test_the_run_is_the_shortest_that_shows_it(reliability, confidence, failures):
    found = sample_size.zero_failure(reliability=reliability, confidence=confidence, failures=failures)
    risk_of = [stats.binom.cdf(failures, n, 1 - reliability) for n in (found.n - 1, found.n)]
    assert risk_of[1] <= (1 - confidence) * (1 + 1e-9)
    assert found.n == failures + 1 or risk_of[0] > (1 - confidence) * (1 - 1e-9)
    assert found.confidence_achieved == pytest.approx(1 - risk_of[1], abs=1e-12)


def test_a_claim_met_exactly_is_met():
    assert sample_size.zero_failure(reliability=0.8, confidence=0.36).n == 2  # 1 - 0.8**2, whatever 0.8 rounds to
    assert sample_size.zero_failure(reliability=0.5, confidence=0.75).n == 2


@given(n=st.integers(1, 2000), share=st.floats(0, 1), confidence=st.floats(0.01, 0.999))
def test_the_reliability_bound_is_the_one_that_would_just_be_refused(n, share, confidence):
    failures = int(share * n)
    bound = sample_size.reliability_bound(n, failures, confidence=confidence)
    if failures == n:
        assert bound == 0
    else:
        assert stats.binom.cdf(failures, n, 1 - bound) == pytest.approx(1 - confidence, abs=1e-9)


def test_runs_and_bounds_say_the_same():
    found = sample_size.zero_failure(reliability=0.97, confidence=0.9, failures=2)
    assert sample_size.reliability_bound(found.n, 2, confidence=0.9) >= 0.97
    assert sample_size.reliability_bound(found.n - 1, 2, confidence=0.9) < 0.97


def bounds_kept(bound_of):
    failures = np.random.default_rng(11).binomial(80, 0.06, SAMPLES)
    bounds = np.array([bound_of(int(count)) for count in range(81)])
    return np.mean(bounds[failures] <= 0.94)


def test_the_reliability_bound_keeps_its_confidence():
    kept = bounds_kept(lambda failures: sample_size.reliability_bound(80, failures, confidence=0.95))
    kept_exactly = 1 - stats.binom.cdf(1, 80, 0.06)  # the bound is too high after 0 or 1 failures only
    assert kept_exactly >= 0.95
    assert kept == within_chance_of(kept_exactly)
    # positive control: the normal approximation does not keep it
    wald = bounds_kept(lambda failures: 1 - failures / 80 - 1.645 * np.sqrt(failures * (80 - failures) / 80) / 80)
    assert wald < 0.95 - 0.005


# --- Tolerance factors


@given(coverage=st.floats(0.5, 0.999), confidence=st.floats(0.3, 0.99), more=st.floats(0.2, 5))
def test_the_factor_is_reached_by_n_and_not_by_fewer(coverage, confidence, more):
    claim = {"coverage": coverage, "confidence": confidence}
    factor = float(stats.norm.ppf(coverage)) + more
    found = sample_size.for_factor(**claim, factor=factor)
    assert found.factor_achieved == tolerance.one_sided_factor(found.n, **claim)
    assert found.factor_achieved <= factor * (1 + 1e-9)
    if found.n > 2:
        assert tolerance.one_sided_factor(found.n - 1, **claim) > factor * (1 - 1e-9)


@pytest.mark.parametrize("n", [2, 7, 30, 137])
def test_a_factor_leads_back_to_its_n(n):
    claim = {"coverage": 0.99, "confidence": 0.95}
    assert sample_size.for_factor(**claim, factor=tolerance.one_sided_factor(n, **claim)).n == n


# --- Two means


@given(effect=st.floats(0.2, 5), alpha=st.floats(0.001, 0.3), power=st.floats(0.3, 0.99), sides=st.sampled_from([1, 2]))
def test_the_power_is_reached_by_n_and_not_by_fewer(effect, alpha, power, sides):
    found = sample_size.for_two_means(sd=2, difference=2 * effect, alpha=alpha, power=power, sides=sides)
    assert found.power_achieved >= power * (1 - 1e-9)
    if found.n > 2:  # by scipy's distribution; its cdf is NaN in the far lower tail, so that is turned round
        df, shift = 2 * found.n - 4, effect * np.sqrt((found.n - 1) / 2)
        t = stats.t.isf(alpha / sides, df)
        fewer = stats.nct.sf(t, df, shift) + (stats.nct.sf(t, df, -shift) if sides == 2 else 0)
        assert fewer < power * (1 + 1e-6)


def test_units_and_signs_do_not_matter():
    found = sample_size.for_two_means(**PLAN)
    assert sample_size.for_two_means(**(PLAN | {"sd": 25.4, "difference": -25.4})) == found
    assert sample_size.for_two_means(**PLAN, sides=1).n < found.n


@pytest.mark.parametrize("sides", [1, 2])
def test_the_power_is_real(sides):
    plan = {"sd": 0.2, "difference": 0.25, "alpha": 0.05, "power": 0.8}
    found = sample_size.for_two_means(**plan, sides=sides)
    rng = np.random.default_rng(3)
    a, b = rng.normal(1.25, 0.2, (SAMPLES, found.n)), rng.normal(1, 0.2, (SAMPLES, found.n))
    answer = stats.ttest_ind(a, b, axis=1, alternative="two-sided" if sides == 2 else "greater")
    assert np.mean(answer.pvalue <= 0.05) == within_chance_of(found.power_achieved)
    # positive control: four fewer in each group have another power
    wrong = stats.ttest_ind(a[:, :-4], b[:, :-4], axis=1, alternative="two-sided" if sides == 2 else "greater")
    assert np.mean(wrong.pvalue <= 0.05) != within_chance_of(found.power_achieved)


# --- Equivalence


def test_the_power_of_equivalence_is_real():
    found = sample_size.for_equivalence(sd=0.2, margin=0.2, true_difference=0.05, alpha=0.05, power=0.8)
    rng = np.random.default_rng(5)
    a, b = rng.normal(1.05, 0.2, (SAMPLES, found.n)), rng.normal(1, 0.2, (SAMPLES, found.n))

    def shown(a, b):
        above = stats.ttest_ind(a + 0.2, b, axis=1, alternative="greater").pvalue
        below = stats.ttest_ind(a - 0.2, b, axis=1, alternative="less").pvalue
        return np.mean(np.maximum(above, below) <= 0.05)

    assert shown(a, b) == within_chance_of(found.power_achieved)
    assert shown(a[:, :-3], b[:, :-3]) != within_chance_of(found.power_achieved)  # positive control


@given(share=st.floats(-0.8, 0.8), margin=st.floats(0.3, 4), alpha=st.floats(0.01, 0.2), power=st.floats(0.5, 0.95))
def test_equivalence_needs_more_the_nearer_the_truth_is_to_the_margin(share, margin, alpha, power):
    plan = {"sd": 1, "margin": margin, "alpha": alpha, "power": power}
    found = sample_size.for_equivalence(**plan, true_difference=share * margin)
    assert found.power_achieved >= power * (1 - 1e-9)
    assert sample_size.for_equivalence(**plan).n <= found.n
    assert sample_size.for_equivalence(**plan, true_difference=-share * margin).n == found.n


# --- Mean and order statistics


@given(half_width=st.floats(0.05, 20), confidence=st.floats(0.1, 0.999))
def test_the_interval_is_short_enough_and_no_shorter_plan_is(half_width, confidence):
    found = sample_size.for_mean(sd=1, half_width=half_width, confidence=confidence)
    assert found.half_width_achieved <= half_width * (1 + 1e-9)
    assert found.half_width_achieved == pytest.approx(
        stats.t.interval(confidence, found.n - 1, scale=1 / np.sqrt(found.n))[1], rel=1e-9
    )
    if found.n > 2:
        fewer = stats.t.interval(confidence, found.n - 2, scale=1 / np.sqrt(found.n - 1))[1]
        assert fewer > half_width * (1 - 1e-9)


@given(coverage=st.floats(0.05, 0.99), confidence=st.floats(0.05, 0.99))
def test_the_extremes_hold_the_share(coverage, confidence):
    found = sample_size.two_sided_order_statistics(coverage=coverage, confidence=confidence)

    def achieved(n):
        return 1 - n * coverage ** (n - 1) + (n - 1) * coverage**n

    assert found.confidence_achieved == pytest.approx(achieved(found.n), abs=1e-11)
    assert found.confidence_achieved >= confidence * (1 - 1e-9)
    assert found.n == 2 or achieved(found.n - 1) < confidence + 1e-9


def test_the_extremes_keep_the_confidence_they_state():
    found = sample_size.two_sided_order_statistics(coverage=0.9, confidence=0.9)
    held = np.ptp(np.random.default_rng(2).uniform(size=(SAMPLES, found.n)), axis=1)
    assert np.mean(held >= 0.9) == within_chance_of(found.confidence_achieved)
    fewer = np.ptp(np.random.default_rng(2).uniform(size=(SAMPLES, found.n - 3)), axis=1)
    assert np.mean(fewer >= 0.9) != within_chance_of(found.confidence_achieved)  # positive control


# --- Extremes


@pytest.mark.parametrize(
    ("function", "plan", "n"),
    [
        (sample_size.for_two_means, PLAN | {"difference": 1e300, "sd": 1e-300}, 2),
        (sample_size.for_equivalence, EQUIVALENCE | {"margin": 1e300, "sd": 1e-300}, 2),
        (sample_size.for_mean, MEAN | {"half_width": 1e300, "sd": 1e-300}, 2),
        (sample_size.for_factor, FACTOR | {"factor": 1e300}, 2),
        (sample_size.zero_failure, {"reliability": 1e-300, "confidence": 1 - 1e-15}, 1),
        (sample_size.two_sided_order_statistics, {"coverage": 1e-300, "confidence": 1e-300}, 2),
    ],
)
def test_extremes_that_need_least(function, plan, n):
    assert function(**plan).n == n


def test_a_very_small_risk():
    found = sample_size.for_two_means(**(PLAN | {"alpha": 1e-100, "difference": 100}))
    assert found.power_achieved >= 0.9


def test_a_large_plan_is_close_to_the_normal_one():
    found = sample_size.for_two_means(**(PLAN | {"difference": 0.001}), sides=1)
    normal = 2 * ((stats.norm.ppf(0.95) + stats.norm.ppf(0.9)) / 0.001) ** 2
    assert found.n == pytest.approx(normal, abs=2)


# --- Refusals

RUN = {"reliability": 0.95, "confidence": 0.95}


@pytest.mark.parametrize(
    ("function", "plan", "sentence"),
    [
        (
            sample_size.zero_failure,
            RUN | {"reliability": 1},
            r"reliability must be between 0 and 1, both left out; got 1\.",
        ),
        (
            sample_size.zero_failure,
            RUN | {"confidence": 95},
            r"confidence must be between 0 and 1, both left out; got 95\.",
        ),
        (sample_size.zero_failure, RUN | {"failures": -1}, r"failures must be at least 0; got -1\."),
        (sample_size.zero_failure, RUN | {"failures": 0.5}, r"failures must be a whole number; got 0\.5\."),
        (
            sample_size.zero_failure,
            RUN | {"reliability": 1 - 1e-12},
            r"reliability, confidence or failures must be less; got what needs more than 1000000000 specimens\.",
        ),
        (sample_size.zero_failure, RUN | {"failures": 10**9}, r"failures must be less; got what needs more"),
        (sample_size.for_factor, FACTOR | {"coverage": 0.4}, r"coverage must be 0\.5 or more; got 0\.4\."),
        (sample_size.for_factor, FACTOR | {"coverage": 0}, r"coverage must be between 0 and 1"),
        (sample_size.for_factor, FACTOR | {"confidence": 1}, r"confidence must be between 0 and 1"),
        (
            sample_size.for_factor,
            FACTOR | {"factor": 1.6},
            r"factor must be above 1\.64485, the normal quantile of the coverage; got 1\.6\.",
        ),
        (sample_size.for_factor, FACTOR | {"factor": float("nan")}, r"factor must be a finite number; got nan\."),
        (sample_size.for_factor, FACTOR | {"factor": 1.64486}, r"factor must be larger; got what needs more than"),
        (sample_size.for_two_means, PLAN | {"sd": 0}, r"sd must be above 0; got 0\."),
        (sample_size.for_two_means, PLAN | {"difference": 0}, r"difference must not be 0; got 0\."),
        (sample_size.for_two_means, PLAN | {"alpha": 0}, r"alpha must be between 0 and 1"),
        (sample_size.for_two_means, PLAN | {"alpha": 1e-101}, r"alpha must be 1e-100 or more; got 1e-101\."),
        (sample_size.for_two_means, PLAN | {"power": 1}, r"power must be between 0 and 1"),
        (sample_size.for_two_means, PLAN | {"sides": 3}, r"sides must be 1 or 2; got 3\."),
        (sample_size.for_two_means, PLAN | {"sides": True}, r"sides must be 1 or 2; got True\."),
        (sample_size.for_two_means, PLAN | {"difference": 1e-9}, r"difference over sd must be larger; got what needs"),
        (sample_size.for_equivalence, EQUIVALENCE | {"sd": -1}, r"sd must be above 0; got -1\."),
        (sample_size.for_equivalence, EQUIVALENCE | {"margin": 0}, r"margin must be above 0; got 0\."),
        (
            sample_size.for_equivalence,
            EQUIVALENCE | {"true_difference": -1},
            r"true_difference must be less than margin, 1\.0, in size; got -1\.0\.",
        ),
        (
            sample_size.for_equivalence,
            EQUIVALENCE | {"alpha": 0.5},
            r"alpha must be below 0\.5 for equivalence; got 0\.5\.",
        ),
        (sample_size.for_equivalence, EQUIVALENCE | {"power": 0}, r"power must be between 0 and 1"),
        (
            sample_size.for_equivalence,
            EQUIVALENCE | {"margin": 1e-200},
            r"margin less true_difference over sd must be larger; got what needs more",
        ),
        (sample_size.for_mean, MEAN | {"sd": 0}, r"sd must be above 0; got 0\."),
        (sample_size.for_mean, MEAN | {"half_width": -1}, r"half_width must be above 0; got -1\."),
        (sample_size.for_mean, MEAN | {"confidence": 1}, r"confidence must be between 0 and 1"),
        (sample_size.for_mean, MEAN | {"half_width": 1e-9}, r"half_width over sd must be larger; got what needs more"),
        (
            sample_size.two_sided_order_statistics,
            {"coverage": 1, "confidence": 0.95},
            r"coverage must be between 0 and 1",
        ),
        (
            sample_size.two_sided_order_statistics,
            {"coverage": 0.9, "confidence": 0},
            r"confidence must be between 0 and 1",
        ),
        (
            sample_size.two_sided_order_statistics,
            {"coverage": 1 - 1e-15, "confidence": 0.95},
            r"coverage or confidence must be less; got what needs more than 1000000000 specimens\.",
        ),
    ],
)
def test_plans_refuse(function, plan, sentence):
    with pytest.raises(ValueError, match=sentence):
        function(**plan)


@pytest.mark.parametrize(
    ("n", "failures", "confidence", "sentence"),
    [
        (0, 0, 0.95, r"n must be at least 1; got 0\."),
        (5, 6, 0.95, r"failures must be at most n, 5; got 6\."),
        (5, -1, 0.95, r"failures must be at least 0; got -1\."),
        (5, 0, 1, r"confidence must be between 0 and 1, both left out; got 1\."),
    ],
)
def test_the_reliability_bound_refuses(n, failures, confidence, sentence):
    with pytest.raises(ValueError, match=sentence):
        sample_size.reliability_bound(n, failures, confidence=confidence)


def test_a_risk_names_itself():
    with pytest.raises(ValueError, match=r"beta must be between 0 and 1, both left out; got 2\."):
        risk(2, name="beta")
