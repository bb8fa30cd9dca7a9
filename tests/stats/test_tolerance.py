import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from labrecords.stats import factors, tolerance

SHARES = st.floats(0.5, 0.9999)
CONFIDENCES = st.floats(0.5, 0.999)
SIZES = st.integers(2, 300)
VALUES = st.lists(st.integers(1, 10_000).map(lambda value: value / 64), min_size=2, max_size=40)
CLAIM = {"coverage": 0.95, "confidence": 0.95}


# --- Factors


@given(n=SIZES, coverage=SHARES, confidence=CONFIDENCES)
def test_one_sided_factor_grows_with_the_claim_and_falls_with_n(n, coverage, confidence):
    factor = tolerance.one_sided_factor(n, coverage=coverage, confidence=confidence)
    assert tolerance.one_sided_factor(n, coverage=(1 + coverage) / 2, confidence=confidence) > factor
    assert tolerance.one_sided_factor(n, coverage=coverage, confidence=(1 + confidence) / 2) > factor
    if confidence > 0.51:  # at 0.5 the factor hardly depends on n
        assert tolerance.one_sided_factor(2 * n, coverage=coverage, confidence=confidence) < factor


@given(n=SIZES, coverage=SHARES, confidence=CONFIDENCES)
def test_two_sided_factor_grows_with_the_claim_and_falls_with_n(n, coverage, confidence):
    factor = tolerance.two_sided_factor(n, coverage=coverage, confidence=confidence)
    assert tolerance.two_sided_factor(n, coverage=(1 + coverage) / 2, confidence=confidence) > factor
    assert tolerance.two_sided_factor(n, coverage=coverage, confidence=(1 + confidence) / 2) > factor
    assert tolerance.two_sided_factor(2 * n, coverage=coverage, confidence=confidence) < factor


@given(n=SIZES, coverage=SHARES, confidence=CONFIDENCES)
def test_two_sided_factor_lies_between_its_bounds(n, coverage, confidence):
    """Longer than with the mean known and than the one-sided; no longer than each tail bounded by itself."""
    factor = tolerance.two_sided_factor(n, coverage=coverage, confidence=confidence)
    known_mean = stats.norm.ppf((1 + coverage) / 2) * np.sqrt((n - 1) / stats.chi2.ppf(1 - confidence, n - 1))
    each_tail = tolerance.one_sided_factor(n, coverage=(1 + coverage) / 2, confidence=(1 + confidence) / 2)
    assert known_mean < factor < each_tail
    assert factor > tolerance.one_sided_factor(n, coverage=coverage, confidence=confidence)


def test_a_large_sample_comes_to_the_normal_quantile():
    assert tolerance.one_sided_factor(10**8, **CLAIM) == pytest.approx(stats.norm.ppf(0.95), abs=5e-4)
    assert tolerance.two_sided_factor(10**8, **CLAIM) == pytest.approx(stats.norm.ppf(0.975), abs=5e-4)


def test_more_degrees_of_freedom_shorten_the_factor():
    own = tolerance.one_sided_factor(5, **CLAIM)
    assert tolerance.one_sided_factor(5, df=4, **CLAIM) == own
    pooled = [tolerance.one_sided_factor(5, df=df, **CLAIM) for df in (8, 20, 1e6)]
    assert own > pooled[0] > pooled[1] > pooled[2]
    # with the sd known the factor is z_coverage + z_confidence / sqrt(n)
    assert pooled[2] == pytest.approx(stats.norm.ppf(0.95) * (1 + 1 / np.sqrt(5)), abs=1e-5)


def test_a_single_value_may_borrow_a_pooled_sd():
    assert tolerance.one_sided_factor(1, df=20, **CLAIM) > tolerance.one_sided_factor(2, df=20, **CLAIM)


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ({"n": 1}, r"n must be at least 2; got 1\."),
        ({"n": 0, "df": 4}, r"n must be at least 1; got 0\."),
        ({"n": 5.0}, r"n must be a whole number; got 5\.0\."),
        ({"n": 5, "df": 0.5}, r"df must be 1 or more; got 0\.5\."),
        ({"n": 5, "coverage": 1}, r"coverage must be between 0 and 1, both left out; got 1\."),
        ({"n": 5, "confidence": 0}, r"confidence must be between 0 and 1, both left out; got 0\."),
        ({"n": 5, "coverage": float("nan")}, r"coverage must be between 0 and 1, both left out; got nan\."),
    ],
)
def test_one_sided_factor_refuses(arguments, sentence):
    with pytest.raises(ValueError, match=sentence):
        tolerance.one_sided_factor(**(CLAIM | arguments))


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ({"n": 1}, r"n must be at least 2; got 1\."),
        ({"n": 5, "coverage": 95}, r"coverage must be between 0 and 1"),
        ({"n": 2, "coverage": 1e-300}, r"must lie further inside 0 and 1 .*; got 1e-300 and 0\.95 with n 2\."),
        ({"n": 2, "coverage": 0.99e-6}, r"must lie further inside 0 and 1 .*; got 9\.9e-07 and 0\.95 with n 2\."),
    ],
)
def test_two_sided_factor_refuses(arguments, sentence):
    with pytest.raises(ValueError, match=sentence):
        tolerance.two_sided_factor(**(CLAIM | arguments))


def test_a_factor_that_cannot_be_computed_is_refused(monkeypatch):
    monkeypatch.setattr(stats.nct, "ppf", lambda *_: float("nan"))
    with pytest.raises(ValueError, match=r"must lie further inside 0 and 1 .*; got 0\.951 and 0\.951 with n 6\."):
        tolerance.one_sided_factor(6, coverage=0.951, confidence=0.951)


def test_a_number_of_values_that_scipy_cannot_take_is_refused():
    with pytest.raises(ValueError, match=r"must lie further inside 0 and 1 .* with n 1000000000\."):
        tolerance.one_sided_factor(10**9, coverage=0.9999, confidence=0.95)


@pytest.mark.parametrize("n", [2, 3, 1000, 10**6])
@pytest.mark.parametrize("coverage", [1e-6, 0.5, 0.9999, 1 - 1e-15])
@pytest.mark.parametrize("confidence", [1e-9, 0.5, 1 - 1e-9])
def test_extreme_claims_give_a_finite_two_sided_factor(n, coverage, confidence):
    factor = tolerance.two_sided_factor(n, coverage=coverage, confidence=confidence)
    known_mean = stats.norm.isf((1 - coverage) / 2) * np.sqrt((n - 1) / stats.chi2.isf(confidence, n - 1))
    assert known_mean * (1 - 1e-9) <= factor < np.inf
    if n == 10**6:  # the mean is as good as known
        assert factor == pytest.approx(known_mean, rel=2e-5)


@pytest.mark.parametrize("confidence", [1e-9, 0.01, 0.5, 0.99, 1 - 1e-9])
def test_very_many_values_go_on_where_many_stopped(confidence, monkeypatch):
    claim = {"coverage": 0.99, "confidence": confidence}
    many = tolerance.two_sided_factor(2_999_999, **claim)
    monkeypatch.setattr(factors, "MANY", 1000)
    assert tolerance.two_sided_factor(3_000_000, **claim) == pytest.approx(many, rel=2e-9)


def test_a_thousand_million_values_come_to_the_normal_quantile_and_its_error():
    # the sd is off by 1 / sqrt(2 n), six of which are the confidence; the mean is as good as known
    n, z = 10**9, stats.norm.isf(1e-9)
    factor = tolerance.two_sided_factor(n, coverage=0.9999, confidence=1 - 1e-9)
    assert factor == pytest.approx(stats.norm.isf(0.00005) * (1 + z / np.sqrt(2 * n)), rel=3e-8)


# --- Bounds


@given(values=VALUES, scale=st.sampled_from([0.25, 3.0, 1000.0]), shift=st.integers(-100, 100))
def test_normal_bounds_move_with_location_and_scale(values, scale, shift):
    for bound in (tolerance.lower_bound, tolerance.upper_bound):
        plain, moved = bound(values, **CLAIM), bound(scale * np.array(values) + shift, **CLAIM)
        assert moved.bound == pytest.approx(scale * plain.bound + shift, rel=1e-8, abs=1e-6)


@given(
    values=VALUES.filter(lambda values: max(values) < 5 * min(values)),
    scale=st.sampled_from([0.25, 3.0, 1000.0]),
)
def test_lognormal_bounds_move_with_scale(values, scale):
    claim = {"coverage": 0.9, "confidence": 0.9, "model": "lognormal"}
    plain = tolerance.lower_bound(values, **claim)
    moved = tolerance.lower_bound(scale * np.array(values), **claim)
    assert moved.bound == pytest.approx(scale * plain.bound, rel=1e-8)


@given(values=VALUES, seed=st.integers(0, 1000))
def test_bounds_do_not_depend_on_the_order_of_the_values(values, seed):
    shuffled = np.random.default_rng(seed).permutation(values)
    plain = tolerance.lower_bound(values, **CLAIM)
    assert tolerance.lower_bound(shuffled, **CLAIM).bound == pytest.approx(plain.bound, rel=1e-9, abs=1e-9)


@given(values=VALUES)
def test_bounds_lie_on_either_side_and_mirror_each_other(values):
    lower, upper = tolerance.lower_bound(values, **CLAIM), tolerance.upper_bound(values, **CLAIM)
    assert lower.bound <= lower.mean <= upper.bound
    mirrored = tolerance.upper_bound([-value for value in values], **CLAIM)
    assert mirrored.bound == pytest.approx(-lower.bound, rel=1e-12)


def test_what_a_bound_tells():
    values = [1.42, 1.51, 1.38, 1.47, 1.55]
    found = tolerance.lower_bound(values, **CLAIM)
    assert found.bound == found.mean - found.factor * found.sd
    assert (found.n, found.model, found.coverage, found.confidence) == (5, "normal", 0.95, 0.95)
    logs = tolerance.upper_bound(values, **CLAIM, model="lognormal")
    assert (logs.mean, logs.sd) == pytest.approx((np.log(values).mean(), np.log(values).std(ddof=1)))
    assert logs.bound == pytest.approx(np.exp(logs.mean + logs.factor * logs.sd))
    assert logs.model == "lognormal"


def test_equal_values_give_a_bound_equal_to_them():
    assert tolerance.lower_bound([0.1] * 5, **CLAIM).bound == 0.1


@pytest.mark.parametrize(
    ("values", "arguments", "sentence"),
    [
        ([1], {}, r"values must hold at least 2 numbers; got 1\."),
        ([1, float("nan")], {}, r"values must be finite numbers"),
        ([1, 2], {"model": "weibull"}, r"model must be one of normal, lognormal; got 'weibull'\."),
        ([1, 0], {"model": "lognormal"}, r"values must be above 0 for the lognormal model; got 0\.0\."),
        ([1, 2], {"coverage": 0}, r"coverage must be between 0 and 1"),
        (
            [1, 1e99],
            {"model": "lognormal"},
            r"values must be more, or closer together, for a lognormal bound; got",
        ),
    ],
)
def test_bounds_refuse(values, arguments, sentence):
    with pytest.raises(ValueError, match=sentence):
        tolerance.upper_bound(values, **(CLAIM | arguments))


# --- Order statistics


@pytest.mark.parametrize(
    ("n", "rank"),
    # NIST/SEMATECH e-Handbook 7.2.6.4 and the usual tables: 59, 93, 124, 153, 181 for 95/95; from memory.
    [(59, 1), (92, 1), (93, 2), (123, 2), (124, 3), (152, 3), (153, 4), (180, 4), (181, 5)],
)
def test_published_ranks(n, rank):
    assert tolerance.order_statistic_rank(n, **CLAIM).rank == rank


@pytest.mark.parametrize(("n", "rank"), [(1, 1), (3, 2), (5, 3)])
def test_exactly_the_confidence_is_enough(n, rank):
    found = tolerance.order_statistic_rank(n, coverage=0.5, confidence=0.5)
    assert (found.rank, found.confidence_achieved) == (rank, 0.5)  # the median of an odd number, by symmetry


@given(n=st.integers(1, 500), coverage=st.floats(0.05, 0.99), confidence=st.floats(0.05, 0.99))
def test_the_rank_is_the_largest_that_keeps_the_confidence(n, coverage, confidence):
    claim = {"coverage": coverage, "confidence": confidence}
    # at least r of n below the quantile, by scipy's binomial distribution; n - X of them above it
    achieved = stats.binom.cdf(n - np.arange(1, n + 2), n, coverage)
    achieved[n] = 0  # no specimen has rank n + 1
    if achieved[0] < confidence:
        with pytest.raises(ValueError, match="n must be at least"):
            tolerance.order_statistic_rank(n, **claim)
    else:
        found = tolerance.order_statistic_rank(n, **claim)
        assert found.confidence_achieved == pytest.approx(achieved[found.rank - 1], rel=1e-9)
        assert achieved[found.rank - 1] >= confidence * (1 - 1e-12)
        assert achieved[found.rank] <= confidence * (1 + 1e-12)


@pytest.mark.parametrize(
    ("coverage", "confidence", "fewest"),
    # success-run sample sizes ln(1 - confidence) / ln(coverage); 59, 299, 22, 29, 45, 90 are the usual table
    [(0.95, 0.95, 59), (0.99, 0.95, 299), (0.9, 0.9, 22), (0.9, 0.95, 29), (0.95, 0.9, 45), (0.95, 0.99, 90)],
)
def test_too_few_specimens_say_how_many_are_needed(coverage, confidence, fewest):
    with pytest.raises(ValueError, match=rf"n must be at least {fewest} for coverage .*; got {fewest - 1}\."):
        tolerance.order_statistic_rank(fewest - 1, coverage=coverage, confidence=confidence)
    assert tolerance.order_statistic_rank(fewest, coverage=coverage, confidence=confidence).rank == 1


@given(n=st.integers(59, 2000), coverage=st.floats(0.5, 0.95), confidence=st.floats(0.5, 0.95))
def test_more_specimens_never_lower_the_rank_and_a_stronger_claim_never_raises_it(n, coverage, confidence):
    rank = tolerance.order_statistic_rank(n, coverage=coverage, confidence=confidence).rank
    assert tolerance.order_statistic_rank(n + 1, coverage=coverage, confidence=confidence).rank >= rank
    assert tolerance.order_statistic_rank(n, coverage=0.9 * coverage, confidence=confidence).rank >= rank
    assert tolerance.order_statistic_rank(n, coverage=coverage, confidence=0.9 * confidence).rank >= rank


@given(values=VALUES, coverage=SHARES, confidence=CONFIDENCES)
def test_a_stronger_claim_moves_the_bound_away(values, coverage, confidence):
    for model in ("normal", "lognormal"):
        near = tolerance.lower_bound(values, coverage=coverage, confidence=confidence, model=model).bound
        for claim in (((1 + coverage) / 2, confidence), (coverage, (1 + confidence) / 2)):
            far = tolerance.lower_bound(values, coverage=claim[0], confidence=claim[1], model=model).bound
            assert far <= near


def test_specimens_too_weak_to_measure_count():
    values = np.arange(100, 193)  # 93 specimens: rank 2
    assert tolerance.order_statistic_bound(values, **CLAIM).bound == 101
    one_weak = tolerance.order_statistic_bound(values[1:], **CLAIM, below=1)
    assert (one_weak.bound, one_weak.rank) == (101, 2)
    with pytest.raises(ValueError, match=r"the specimen of rank 2; it was too weak to measure\."):
        tolerance.order_statistic_bound(values[2:], **CLAIM, below=2)


def test_specimens_too_strong_to_measure_count():
    values = np.arange(100, 193)
    assert tolerance.order_statistic_bound(values[:2], **CLAIM, above=91).bound == 101
    with pytest.raises(ValueError, match=r"the specimen of rank 2; it was too strong to measure\."):
        tolerance.order_statistic_bound(values[:1], **CLAIM, above=92)


@given(values=st.lists(st.floats(-100, 100), min_size=59, max_size=90), seed=st.integers(0, 1000))
def test_order_statistic_bound_ignores_the_order_and_follows_any_rising_scale(values, seed):
    found = tolerance.order_statistic_bound(values, **CLAIM)
    assert found.bound == min(values)  # rank 1 for 59 to 92
    bent = tolerance.order_statistic_bound(np.random.default_rng(seed).permutation(np.cbrt(values)), **CLAIM)
    assert bent.bound == np.cbrt(found.bound)


@pytest.mark.parametrize(
    ("values", "arguments", "sentence"),
    [
        ([], {}, r"values must hold at least 1 number; got 0\."),
        ([1.0] * 58, {}, r"n must be at least 59 for coverage 0\.95 with confidence 0\.95; got 58\."),
        ([1.0] * 60, {"below": -1}, r"below must be at least 0; got -1\."),
        ([1.0] * 60, {"above": 0.5}, r"above must be a whole number; got 0\.5\."),
        ([float("inf")] * 60, {}, r"values must be finite numbers"),
    ],
)
def test_order_statistic_bound_refuses(values, arguments, sentence):
    with pytest.raises(ValueError, match=sentence):
        tolerance.order_statistic_bound(values, **(CLAIM | arguments))
