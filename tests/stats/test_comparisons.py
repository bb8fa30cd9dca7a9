import dataclasses
import itertools
import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats

from labrecords.stats import comparisons

VALUES = st.lists(st.integers(-800, 800).map(lambda value: value / 64), min_size=3, max_size=12)
SPREAD = VALUES.filter(lambda values: len(set(values)) > 2)
GROUPS = st.lists(SPREAD, min_size=2, max_size=5)
SHIFT = st.integers(-(10**6), 10**6)
SCALE = st.sampled_from([0.125, 2.0, 4096.0])
A = [1.42, 1.51, 1.38, 1.47, 1.55]
B = [1.31, 1.36, 1.33, 1.40]
NAMED = {"low": B, "nominal": A, "high": [1.44, 1.62, 1.40, 1.52]}
EACH_EQUAL = r"must not each hold equal values; got no spread"


def close(value, rel=1e-9, absolute=1e-12):
    return pytest.approx(value, rel=rel, abs=absolute)


# --- Against scipy


@given(a=SPREAD, b=SPREAD, confidence=st.floats(0.5, 0.999))
def test_welch_against_scipy(a, b, confidence):
    found, expected = comparisons.welch(a, b, confidence=confidence), stats.ttest_ind(a, b, equal_var=False)
    assert (found.statistic, found.df, found.p_value) == close(
        (float(expected.statistic), float(expected.df), float(expected.pvalue))
    )
    assert found.interval == close(tuple(map(float, expected.confidence_interval(confidence))), absolute=1e-9)
    assert found.difference / found.standard_error == close(found.statistic)


@given(a=SPREAD, b=SPREAD)
def test_variance_ratio_against_scipy(a, b):
    found = comparisons.variance_ratio(a, b, confidence=0.9)
    ratio, law = np.var(a, ddof=1) / np.var(b, ddof=1), stats.f(len(a) - 1, len(b) - 1)
    assert found.statistic == found.ratio == close(ratio)
    assert found.df == (len(a) - 1, len(b) - 1)
    assert found.p_value == close(min(1, 2 * min(law.cdf(ratio), law.sf(ratio))))
    assert found.interval == close((ratio / law.ppf(0.95), ratio / law.ppf(0.05)))


@given(groups=GROUPS)
def test_one_way_against_scipy(groups):
    found = comparisons.one_way(*groups)
    assume(found.F > 1e-6)  # below, scipy's rounding shows: equal groups give it a negative F and no p
    expected = stats.f_oneway(*groups)
    assert (found.F, found.p_value) == close((expected.statistic, expected.pvalue), absolute=1e-10)
    assert found.means == close(tuple(map(np.mean, groups)))
    total = np.var(np.concatenate(groups)) * sum(map(len, groups))
    assert found.ss_between + found.ss_within == close(total)
    assert found.r_squared == close(found.ss_between / total)
    assert found.ms_between / found.ms_within == close(found.F)
    assert found.residual_sd**2 == close(found.ms_within)


@given(groups=GROUPS)
def test_tests_of_spread_against_scipy(groups):
    bartlett, levene = comparisons.bartlett(*groups), comparisons.brown_forsythe(*groups)
    assume(min(bartlett.statistic, levene.statistic) > 1e-6)  # below, scipy's rounding shows, and gives no p
    expected = stats.bartlett(*groups)
    assert (bartlett.statistic, bartlett.p_value) == close((expected.statistic, expected.pvalue), absolute=1e-10)
    assert bartlett.df == len(groups) - 1
    expected = stats.levene(*groups)
    assert (levene.statistic, levene.p_value) == close((expected.statistic, expected.pvalue), absolute=1e-10)
    assert levene.df == (len(groups) - 1, sum(map(len, groups)) - len(groups))


@given(a=VALUES, b=VALUES)
def test_rank_sum_counts_pairs(a, b):
    if len({*a, *b}) == 1:
        return
    found = comparisons.rank_sum(a, b)
    wins = sum((one > other) + (one == other) / 2 for one, other in itertools.product(a, b))
    assert found.statistic == wins
    assert found.superiority == wins / (len(a) * len(b))
    untied = len({*a, *b}) == len(a) + len(b)
    assert found.method == ("exact" if untied else "normal")
    assert (found.n_a, found.n_b) == (len(a), len(b))


@pytest.mark.parametrize("sizes", [(2, 2), (3, 4), (5, 5)])
def test_exact_rank_sum_by_counting_every_division(sizes):
    values = np.arange(sum(sizes)) ** 1.5
    chosen = [0, *range(2, sizes[0] + 1)]
    a, b = values[chosen], np.delete(values, chosen)
    centre = sizes[0] * sizes[1] / 2
    ranks = np.array(list(itertools.combinations(range(sum(sizes)), sizes[0]))).sum(axis=1)
    wins = ranks - sizes[0] * (sizes[0] - 1) / 2
    found = comparisons.rank_sum(a, b)
    assert found.p_value == close(np.mean(abs(wins - centre) >= abs(found.statistic - centre)), absolute=0)


def test_many_values_use_the_normal_approximation():
    values = np.arange(104) ** 1.1
    assert comparisons.rank_sum(values[::2], values[1::2]).method == "normal"  # 52 beside 52
    assert comparisons.rank_sum(values[:100:2], values[1:100:2]).method == "exact"  # 50 beside 50


@settings(max_examples=10, deadline=None)
@given(groups=st.lists(SPREAD, min_size=3, max_size=4))
def test_all_pairs_against_scipy(groups):
    named = {str(place): group for place, group in enumerate(groups)}
    expected = stats.tukey_hsd(*groups)
    limits = expected.confidence_interval(0.9)
    for found in comparisons.all_pairs(named, confidence=0.9).comparisons:
        place = int(found.first), int(found.second)
        assert found.p_value == pytest.approx(expected.pvalue[place], rel=1e-6, abs=1e-10)
        assert found.interval == close((limits.low[place], limits.high[place]), rel=1e-7, absolute=1e-7)


def test_many_to_one_against_scipy():
    found = comparisons.many_to_one(NAMED, reference="nominal")
    expected = stats.dunnett(NAMED["low"], NAMED["high"], control=NAMED["nominal"], rng=np.random.default_rng(1))
    limits = expected.confidence_interval()
    for place, one in enumerate(found.comparisons):
        assert one.statistic == close(expected.statistic[place])
        assert one.p_value == pytest.approx(expected.pvalue[place], abs=2e-3)  # scipy integrates at random
        assert one.interval == pytest.approx((limits.low[place], limits.high[place]), abs=2e-3)


# --- Against themselves: two groups are two groups, whoever compares them


@given(a=SPREAD, b=SPREAD)
def test_two_groups_agree_whichever_function_compares_them(a, b):
    named = {"a": a, "b": b}
    welch = comparisons.welch(a, b)
    (pair,) = comparisons.all_pairs(named, equal_spread=False).comparisons
    assert (pair.p_value, pair.interval) == (close(welch.p_value, rel=1e-8), close(tuple(welch.interval), rel=1e-8))
    anova = comparisons.one_way(a, b)
    (tukey,) = comparisons.all_pairs(named).comparisons
    dunnett = comparisons.many_to_one(named, reference="b")
    (one,) = dunnett.comparisons
    assert one.statistic**2 == close(anova.F)
    assert tukey.statistic == close(math.sqrt(2) * abs(one.statistic))
    assert (tukey.p_value, one.p_value) == close((anova.p_value,) * 2, rel=1e-8)
    assert tukey.interval == close(tuple(one.interval))
    assert dunnett.residual_sd == anova.residual_sd
    assert one.interval.high - one.difference == close(dunnett.critical_value * one.standard_error)


@given(a=SPREAD, b=SPREAD, low=st.floats(-5, -0.1), high=st.floats(0.1, 5), alpha=st.floats(0.01, 0.4))
def test_equivalence_is_the_interval_within_the_limits(a, b, low, high, alpha):
    for equal_spread in (False, True):
        found = comparisons.equivalence(a, b, low=low, high=high, alpha=alpha, equal_spread=equal_spread)
        assert found.p_value == max(found.p_low, found.p_high)
        assert found.equivalent == (found.p_value <= alpha)
        if abs(found.p_value - alpha) > 1e-9:
            assert found.equivalent == (low < found.interval.low and found.interval.high < high)
        larger = found.statistic_low if found.p_low >= found.p_high else found.statistic_high
        assert found.statistic == larger


# Ten people's extra hours of sleep by two drugs: Student (1908), The probable error of a mean, Biometrika 6; his paired
# t of 4.06 with 9 degrees of freedom, from memory. The digits are scipy's, of the differences as one sample.
SLEEP = (
    [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0],
    [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4],
)


def test_equivalence_of_pairs_is_a_one_sample_test_of_their_differences():
    differences = np.subtract(*SLEEP)
    found = comparisons.paired_equivalence(*SLEEP, low=-3, high=3)
    reference = stats.ttest_1samp(differences, 0)
    assert found.difference / found.standard_error == close(reference.statistic)
    assert round(abs(reference.statistic), 2) == 4.06
    assert found.df == 9
    assert tuple(found.interval) == close(tuple(reference.confidence_interval(0.90)), rel=1e-9)
    assert found.p_low == close(stats.ttest_1samp(differences, -3, alternative="greater").pvalue, rel=1e-9)
    assert found.p_high == close(stats.ttest_1samp(differences, 3, alternative="less").pvalue, rel=1e-9)
    assert found.equivalent
    assert not comparisons.paired_equivalence(*SLEEP, low=-2, high=2).equivalent


@given(a=SPREAD, b=SPREAD, low=st.floats(0.5, 0.95), high=st.floats(1.05, 2), alpha=st.floats(0.01, 0.4))
def test_equivalence_of_a_ratio_is_fieller_s_interval_within_the_limits(a, b, low, high, alpha):
    a, b = np.array(a) + 60, np.array(b) + 60
    found = comparisons.equivalence_ratio(a, b, low=low, high=high, alpha=alpha)
    assert found.equivalent == (found.p_value <= alpha)
    if abs(found.p_value - alpha) > 1e-9:
        assert found.equivalent == (low < found.interval.low and found.interval.high < high)
    for end, field in ((found.interval.low, "p_low"), (found.interval.high, "p_high")):
        limits = {"low": end, "high": end + 1} if field == "p_low" else {"low": end / 2, "high": end}
        at_its_end = comparisons.equivalence_ratio(a, b, **limits, alpha=alpha)
        assert getattr(at_its_end, field) == close(alpha, rel=1e-8)
    assert found.statistic in (found.statistic_low, found.statistic_high)


def test_the_statistic_of_equivalence_belongs_to_its_p_value():
    for shift, name in ((-0.3, "statistic_low"), (0.3, "statistic_high")):
        moved = [value + shift for value in A]
        for found in (
            comparisons.equivalence(moved, A, low=-0.2, high=0.2),
            comparisons.equivalence_ratio(moved, A, low=0.8, high=1.25),
        ):
            assert found.statistic == getattr(found, name)


# --- Location, scale, order, monotony


@given(groups=GROUPS, shift=SHIFT, scale=SCALE)
def test_location_and_scale(groups, shift, scale):
    """Both are exact in doubles here, so nothing but the unit may change."""
    moved = [[scale * value + shift for value in group] for group in groups]
    plain, other = comparisons.one_way(*groups), comparisons.one_way(*moved)
    assert (other.F, other.p_value, other.r_squared) == (plain.F, plain.p_value, plain.r_squared)
    assert other.residual_sd == close(scale * plain.residual_sd, rel=1e-15, absolute=0)
    assert comparisons.bartlett(*moved) == comparisons.bartlett(*groups)
    assert comparisons.brown_forsythe(*moved) == comparisons.brown_forsythe(*groups)
    plain, other = comparisons.welch(*groups[:2]), comparisons.welch(*moved[:2])
    assert (other.statistic, other.df, other.p_value) == close((plain.statistic, plain.df, plain.p_value), rel=1e-14)
    assert other.interval == close(tuple(scale * limit for limit in plain.interval), rel=1e-14, absolute=1e-12)


@given(groups=GROUPS, seed=st.integers(0, 1000))
def test_the_order_of_values_and_groups_changes_nothing(groups, seed):
    rng = np.random.default_rng(seed)
    shuffled = [rng.permutation(group) for group in groups]
    assert comparisons.one_way(*shuffled) == comparisons.one_way(*groups)
    assert comparisons.one_way(*groups[::-1]).F == comparisons.one_way(*groups).F
    assert comparisons.welch(*shuffled[:2]) == comparisons.welch(*groups[:2])
    there, back = comparisons.welch(*groups[:2]), comparisons.welch(*groups[1::-1])
    assert (back.difference, back.p_value) == (-there.difference, there.p_value)
    assert comparisons.rank_sum(*groups[:2]).p_value == close(comparisons.rank_sum(*groups[1::-1]).p_value)
    there, back = comparisons.variance_ratio(*groups[:2]), comparisons.variance_ratio(*groups[1::-1])
    assert (back.ratio, back.p_value) == close((1 / there.ratio, there.p_value))


@given(a=SPREAD, b=SPREAD)
def test_intervals_widen_with_confidence(a, b):
    for compare in (comparisons.welch, comparisons.variance_ratio):
        narrow, wide = compare(a, b, confidence=0.8).interval, compare(a, b, confidence=0.99).interval
        assert wide.low < narrow.low < narrow.high < wide.high


def test_more_comparisons_are_harder_to_pass():
    more = NAMED | {"over": [1.2, 1.3, 1.5, 1.4]}
    few, many = (comparisons.many_to_one(groups, reference="nominal") for groups in (NAMED, more))
    assert many.critical_value > few.critical_value
    assert few.df == 10
    assert many.df == 13
    pairs = comparisons.all_pairs(NAMED)
    assert [(one.first, one.second) for one in pairs.comparisons] == list(itertools.combinations(NAMED, 2))
    assert (pairs.method, pairs.confidence) == ("Tukey-Kramer", 0.95)
    assert comparisons.all_pairs(NAMED, equal_spread=False).method == "Games-Howell"


# --- Refusals


@pytest.mark.parametrize("compare", [comparisons.welch, comparisons.rank_sum, comparisons.variance_ratio])
def test_two_groups_refuse(compare):
    with pytest.raises(ValueError, match=r"a must hold at least 2 numbers; got 1\."):
        compare([1], B)
    with pytest.raises(ValueError, match=r"b must hold at least 2 numbers; got 0\."):
        compare(A, [])
    with pytest.raises(ValueError, match=r"b must be finite numbers"):
        compare(A, [1, float("nan")])


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: comparisons.welch([1, 1], [2, 2]), EACH_EQUAL),
        (
            lambda: comparisons.welch(A, B, confidence=95),
            r"confidence must be between 0 and 1, both left out; got 95\.",
        ),
        (lambda: comparisons.variance_ratio(A, B, confidence=0), r"confidence must be between 0 and 1"),
        (lambda: comparisons.variance_ratio(A, [2, 2, 2]), r"b must not all be equal; got 3 times 2\.0\."),
        (lambda: comparisons.variance_ratio([3, 3], B), r"a must not all be equal; got 2 times 3\.0\."),
        (lambda: comparisons.rank_sum([3, 3], [3, 3, 3]), r"a and b must not hold one number only; got 5 times 3\.0\."),
        (lambda: comparisons.one_way(), r"groups must be at least 2; got 0\."),
        (lambda: comparisons.one_way(A), r"groups must be at least 2; got 1\."),
        (lambda: comparisons.one_way(A, [1]), r"group 2 must hold at least 2 numbers; got 1\."),
        (lambda: comparisons.one_way([1, 1], [2, 2]), EACH_EQUAL),
        (lambda: comparisons.one_way(A, [[1, 2], [3, 4]]), r"group 2 must be one-dimensional; got 2 dimensions\."),
        (lambda: comparisons.brown_forsythe([1, 2], [3, 5]), r"at different distances from its median"),
        (lambda: comparisons.brown_forsythe([0.1, 0.1, 0.3, 0.3], [1, 2]), r"at different distances from its median"),
        (lambda: comparisons.brown_forsythe(A, [float("inf"), 1]), r"group 2 must be finite numbers"),
        (lambda: comparisons.bartlett(A, [2, 2]), r"group 2 must not all be equal; got 2 times 2\.0\."),
        (lambda: comparisons.bartlett(A), r"groups must be at least 2; got 1\."),
        (
            lambda: comparisons.many_to_one([A, B], reference="a"),
            r"groups must be a mapping of names to values; got list",
        ),
        (lambda: comparisons.many_to_one({"a": A}, reference="a"), r"groups must be at least 2; got 1\."),
        (lambda: comparisons.all_pairs({"a": A, 2: B}), r"groups must be named by text; got 2\."),
        (lambda: comparisons.many_to_one(NAMED, reference=["low"]), r"reference must be one of low, nominal, high"),
        (
            lambda: comparisons.many_to_one(NAMED, reference="mid"),
            r"reference must be one of low, nominal, high; got 'mid'",
        ),
        (
            lambda: comparisons.many_to_one({"a": A, "b": [1]}, reference="a"),
            r"groups\['b'\] must hold at least 2 numbers",
        ),
        (lambda: comparisons.many_to_one({"a": [1, 1], "b": [2, 2]}, reference="a"), EACH_EQUAL),
        (lambda: comparisons.many_to_one(NAMED, reference="low", confidence=1), r"confidence must be between 0 and 1"),
        (lambda: comparisons.all_pairs({"a": [1, 1], "b": [2, 2]}), EACH_EQUAL),
        (lambda: comparisons.all_pairs({"a": [1, 1], "b": [2, 2], "c": A}, equal_spread=False), EACH_EQUAL),
        (lambda: comparisons.all_pairs(NAMED, confidence=-1), r"confidence must be between 0 and 1"),
        (lambda: comparisons.equivalence(A, B, low=1, high=1), r"low must be below high; got 1 and 1\."),
        (lambda: comparisons.equivalence(A, B, low=-1, high=float("inf")), r"low and high must be finite numbers"),
        (lambda: comparisons.equivalence(A, B, low=-1, high=1, alpha=0.5), r"alpha must be below 0\.5, .*; got 0\.5\."),
        (lambda: comparisons.equivalence(A, B, low=-1, high=1, alpha=0), r"alpha must be between 0 and 1"),
        (lambda: comparisons.equivalence([1, 1], [2, 2], low=-1, high=1), EACH_EQUAL),
        (lambda: comparisons.equivalence([1, 1], [2, 2], low=-1, high=1, equal_spread=True), EACH_EQUAL),
        (lambda: comparisons.paired_equivalence(A, B, low=-1, high=1), r"must be pairs; got 5 and 4 values"),
        (lambda: comparisons.paired_equivalence([1], [2], low=-1, high=1), r"a must hold at least 2 numbers"),
        (lambda: comparisons.paired_equivalence([1, 2], [2, 3], low=-1, high=1), r"by the same amount in every pair"),
        (lambda: comparisons.equivalence_ratio(A, B, low=0, high=1), r"low must be above 0; got 0"),
        (lambda: comparisons.equivalence_ratio(A, B, low=2, high=1), r"low must be below high; got 2 and 1\."),
        (
            lambda: comparisons.equivalence_ratio(A, [-1, 1], low=0.8, high=1.2),
            r"b must have a mean clearly above 0 .*got 0",
        ),
        (lambda: comparisons.equivalence_ratio([1, 1], [2, 2], low=0.8, high=1.2), EACH_EQUAL),
    ],
)
def test_refusals_say_what_must_be(call, sentence):
    with pytest.raises(ValueError, match=sentence):
        call()


def test_results_cannot_be_changed():
    with pytest.raises(dataclasses.FrozenInstanceError):
        comparisons.welch(A, B).p_value = 0.01


def test_results_are_plain_numbers():
    found = [
        comparisons.welch(A, B),
        comparisons.variance_ratio(A, B),
        comparisons.rank_sum(A, B),
        comparisons.one_way(A, B),
        comparisons.brown_forsythe(A, B),
        comparisons.bartlett(A, B),
        comparisons.equivalence(A, B, low=-1, high=1),
        comparisons.equivalence_ratio(A, B, low=0.5, high=2),
        *comparisons.many_to_one(NAMED, reference="low").comparisons,
        *comparisons.all_pairs(NAMED).comparisons,
    ]
    for result in found:
        for value in dataclasses.astuple(result):
            parts = value if isinstance(value, tuple) else (value,)
            assert all(type(part) in (float, int, bool, str) for part in parts), (result, value)
