import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from labrecords.stats import capability, tolerance

SAMPLES = 10_000
VALUES = st.lists(st.integers(-2000, 2000).map(lambda value: value / 64), min_size=3, max_size=40).filter(
    lambda values: max(values) > min(values)
)
PEELS = [1.42, 1.51, 1.38, 1.47, 1.55, 1.44, 1.49, 1.46, 1.53, 1.40]
LABELS = "aabbbcccdd"


def within_chance_of(share):
    """Four standard errors of the simulated share."""
    return pytest.approx(share, abs=4 * np.sqrt(share * (1 - share) / SAMPLES))


# --- One limit


@given(values=VALUES, limit=st.integers(-40, 40))
def test_against_the_definitions(values, limit):
    found = capability.lower(values, limit=limit)
    mean, sd = np.mean(values), np.std(values, ddof=1)
    assert found.index == pytest.approx((mean - limit) / (3 * sd), rel=1e-9, abs=1e-9)
    assert found.fraction_outside == pytest.approx(stats.norm.cdf(limit, mean, sd), rel=1e-6, abs=1e-12)
    assert (found.n, found.limit, found.confidence) == (len(values), limit, 0.95)
    assert (found.mean, found.sd) == (pytest.approx(mean, abs=1e-9), pytest.approx(sd, rel=1e-9))
    assert found.index_lower_bound < found.index
    assert found.fraction_outside_upper_bound >= found.fraction_outside


@given(values=VALUES, limit=st.integers(-40, 40))
def test_a_maximum_is_a_minimum_upside_down(values, limit):
    above = capability.upper(values, limit=limit)
    below = capability.lower(np.negative(values), limit=-limit)
    for name in ("index", "index_lower_bound", "fraction_outside", "fraction_outside_upper_bound"):
        assert getattr(above, name) == pytest.approx(getattr(below, name), rel=1e-12), name


@given(values=VALUES, limit=st.integers(-40, 40), seed=st.integers(0, 1000), scale=st.sampled_from([0.25, 3.0, 1000.0]))
def test_order_place_and_unit_do_not_matter(values, limit, seed, scale):
    found = capability.lower(values, limit=limit)
    assert capability.lower(np.random.default_rng(seed).permutation(values), limit=limit) == found
    moved = capability.lower(scale * np.array(values) + 7, limit=scale * limit + 7)
    assert moved.index == pytest.approx(found.index, rel=1e-7, abs=1e-7)
    assert moved.index_lower_bound == pytest.approx(found.index_lower_bound, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("confidence", [0.5, 0.9, 0.99])
@pytest.mark.parametrize("coverage", [0.6, 0.95, 0.999])
def test_the_share_outside_is_where_the_tolerance_bound_stands(coverage, confidence):
    bound = tolerance.lower_bound(PEELS, coverage=coverage, confidence=confidence).bound
    found = capability.lower(PEELS, limit=bound, confidence=confidence)
    assert found.fraction_outside_upper_bound == pytest.approx(1 - coverage, rel=1e-9)
    bound = tolerance.upper_bound(PEELS, coverage=coverage, confidence=confidence).bound
    found = capability.upper(PEELS, limit=bound, confidence=confidence)
    assert found.fraction_outside_upper_bound == pytest.approx(1 - coverage, rel=1e-9)


def test_the_bound_keeps_its_confidence():
    samples = np.random.default_rng(31).normal(5, 0.8, (SAMPLES, 10))
    truth = (5 - 2) / (3 * 0.8)
    index = (samples.mean(axis=1) - 2) / (3 * samples.std(axis=1, ddof=1))
    # the bound rises with the index: it is at most the truth where the index is at most the one whose bound it is
    assert kept(index, truth, n=10) == within_chance_of(0.95)
    assert kept(index, truth, n=12) != within_chance_of(0.95)  # positive control
    assert kept(index, truth, n=8) != within_chance_of(0.95)


def kept(index, truth, *, n):
    table = np.linspace(index.min(), index.max(), 200)
    bounds = [capability.lower_index_bound(float(at), n, confidence=0.95) for at in table]
    return np.mean(np.interp(index, table, bounds) <= truth)


@given(index=st.floats(-3, 10), n=st.integers(2, 500), confidence=st.floats(0.5, 0.999))
def test_the_bound_rises_with_index_and_n_and_falls_with_confidence(index, n, confidence):
    bound = capability.lower_index_bound(index, n, confidence=confidence)
    assert capability.lower_index_bound(index + 0.1, n, confidence=confidence) > bound
    assert capability.lower_index_bound(index, n, confidence=(1 + confidence) / 2) < bound
    if confidence > 0.6:
        assert capability.lower_index_bound(index, 2 * n, confidence=confidence) > bound


@pytest.mark.parametrize(("index", "n"), [(1e100, 5), (-1e100, 5), (1e50, 10**9), (0, 2), (1.33, 10**9), (50, 3)])
def test_extremes_give_a_bound(index, n):
    bound = capability.lower_index_bound(index, n, confidence=0.95)
    assert np.isfinite(bound)
    assert bound < index or index == 0


def test_a_spread_that_is_tiny_beside_the_mean():
    found = capability.lower(1e9 + np.arange(8) / 8, limit=1e9 - 1)
    plain = capability.lower(np.arange(8) / 8, limit=-1)
    assert found.index_lower_bound == pytest.approx(plain.index_lower_bound, rel=1e-12)


# --- Two limits


def test_without_subgroups():
    found = capability.two_sided(PEELS, low=1.2, high=1.7)
    mean, sd = np.mean(PEELS), np.std(PEELS, ddof=1)
    assert found.pp == pytest.approx(0.5 / (6 * sd))
    assert found.ppk == pytest.approx(min(1.7 - mean, mean - 1.2) / (3 * sd))
    assert (found.cp, found.cpk, found.sd_within, found.df_within) == (None, None, None, None)
    assert (found.intervals.cp, found.intervals.cpk) == (None, None)
    assert (found.low, found.high, found.confidence, found.n) == (1.2, 1.7, 0.95, 10)


def test_with_subgroups():
    found = capability.two_sided(PEELS, low=1.2, high=1.7, subgroups=LABELS)
    data, labels = np.array(PEELS), np.array(list(LABELS))
    squares = sum(((data[labels == label] - data[labels == label].mean()) ** 2).sum() for label in "abcd")
    sd = np.sqrt(squares / 6)
    assert (found.sd_within, found.df_within) == (pytest.approx(sd), 6)
    assert found.cp == pytest.approx(0.5 / (6 * sd))
    assert found.cpk == pytest.approx(min(1.7 - data.mean(), data.mean() - 1.2) / (3 * sd))
    assert found.intervals.cp == pytest.approx(capability.pp_interval(found.cp, 6, confidence=0.95))
    assert found.intervals.cpk == pytest.approx(capability.ppk_interval(found.cpk, 10, df=6, confidence=0.95))


def test_a_subgroup_of_one_adds_nothing():
    alone = capability.two_sided([*PEELS, 1.48], low=1.2, high=1.7, subgroups=[*LABELS, "e"])
    assert (alone.df_within, alone.sd_within) == (
        6,
        pytest.approx(capability.two_sided(PEELS, low=1.2, high=1.7, subgroups=LABELS).sd_within),
    )


@given(values=VALUES, seed=st.integers(0, 1000))
def test_two_limits_hold_order_and_each_side(values, seed):
    found = capability.two_sided(values, low=-50, high=60)
    assert capability.two_sided(np.random.default_rng(seed).permutation(values), low=-50, high=60) == found
    sides = capability.lower(values, limit=-50).index, capability.upper(values, limit=60).index
    assert found.ppk == pytest.approx(min(sides), rel=1e-12)
    assert found.pp == pytest.approx(sum(sides) / 2, rel=1e-9)
    assert found.ppk <= found.pp * (1 + 1e-12)


def test_pp_interval_keeps_its_confidence():
    pp = 1 / np.random.default_rng(41).normal(0, 1, (SAMPLES, 8)).std(axis=1, ddof=1)
    low, high = capability.pp_interval(1.0, 7, confidence=0.9)
    assert np.mean((pp * low <= 1) & (pp * high >= 1)) == within_chance_of(0.9)
    low, high = capability.pp_interval(1.0, 9, confidence=0.9)
    assert np.mean((pp * low <= 1) & (pp * high >= 1)) != within_chance_of(0.9)  # positive control


def test_ppk_interval_is_close_for_many_and_not_for_few():
    assert ppk_kept(100) == pytest.approx(0.95, abs=0.015)
    assert ppk_kept(4) != pytest.approx(0.95, abs=0.015)


def ppk_kept(n):
    samples = np.random.default_rng(43).normal(0, 1, (SAMPLES, n))
    ppk = (samples.mean(axis=1) + 3) / (3 * samples.std(axis=1, ddof=1))  # the other limit is far away; the truth is 1
    half = stats.norm.ppf(0.975) * np.sqrt(1 / (9 * n) + ppk**2 / (2 * (n - 1)))
    assert capability.ppk_interval(float(ppk[0]), n, confidence=0.95).low == pytest.approx(ppk[0] - half[0])
    return np.mean((ppk - half <= 1) & (ppk + half >= 1))


# --- Refusals


@pytest.mark.parametrize(
    ("values", "arguments", "sentence"),
    [
        ([1], {"limit": 0}, r"values must hold at least 2 numbers; got 1\."),
        ([1, float("nan")], {"limit": 0}, r"values must be finite numbers"),
        ([3, 3, 3], {"limit": 0}, r"values must not all be equal; got 3 times 3\.0\."),
        ([1, 2], {"limit": float("inf")}, r"limit must be a finite number; got inf\."),
        ([1, 2], {"limit": 0, "confidence": 1}, r"confidence must be between 0 and 1, both left out; got 1\."),
        ([1, 2], {"limit": 0, "confidence": 1e-30}, r"confidence must be 1e-20 or more; got 1e-30\."),
        (
            [1e-20, 2e-20],
            {"limit": 1e90},
            r"limits must lie within 1e\+100 standard deviations of the mean; got -1e\+90",
        ),
    ],
)
def test_one_limit_refuses(values, arguments, sentence):
    with pytest.raises(ValueError, match=sentence):
        capability.lower(values, **arguments)


@pytest.mark.parametrize(
    ("values", "arguments", "sentence"),
    [
        ([1], {}, r"values must hold at least 2 numbers; got 1\."),
        ([3, 3, 3], {}, r"values must not all be equal"),
        ([1, 2], {"low": 3}, r"low must be below high, 3\.0; got 3\.0\."),
        ([1, 2], {"high": float("nan")}, r"high must be a finite number; got nan\."),
        ([1, 2], {"confidence": 0}, r"confidence must be between 0 and 1"),
        ([1, 2], {"subgroups": "abc"}, r"subgroups must be one label for each of 2 values; got 3\."),
        (
            [1, 2],
            {"subgroups": "ab"},
            r"subgroups must hold different values in at least one; got 2 without any spread\.",
        ),
        ([1, 1, 2, 2], {"subgroups": "aabb"}, r"subgroups must hold different values in at least one; got 2 without"),
    ],
)
def test_two_limits_refuse(values, arguments, sentence):
    with pytest.raises(ValueError, match=sentence):
        capability.two_sided(values, **({"low": 0, "high": 3} | arguments))


@pytest.mark.parametrize(
    ("function", "data", "arguments", "sentence"),
    [
        (capability.lower_index_bound, (float("nan"), 5), {}, r"index must be a finite number; got nan\."),
        (capability.lower_index_bound, (1e101, 5), {}, r"index must be at most 1e\+100 in size; got 1e\+101\."),
        (capability.lower_index_bound, (1, 1), {}, r"n must be at least 2; got 1\."),
        (capability.pp_interval, (0, 5), {}, r"pp must be above 0; got 0\."),
        (capability.pp_interval, (1, 0.5), {}, r"df must be 1 or more; got 0\.5\."),
        (capability.pp_interval, (1, 5), {"confidence": 2}, r"confidence must be between 0 and 1"),
        (capability.ppk_interval, (float("inf"), 5), {}, r"ppk must be a finite number; got inf\."),
        (capability.ppk_interval, (1, 1), {}, r"n must be at least 2; got 1\."),
        (capability.ppk_interval, (1, 5), {"df": 0}, r"df must be 1 or more; got 0\."),
        (capability.ppk_interval, (1, 5), {"confidence": 0}, r"confidence must be between 0 and 1"),
    ],
)
def test_functions_of_summaries_refuse(function, data, arguments, sentence):
    with pytest.raises(ValueError, match=sentence):
        function(*data, **({"confidence": 0.95} | arguments))
