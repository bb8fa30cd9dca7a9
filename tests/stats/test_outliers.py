import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from labrecords.stats import outliers

SAMPLES = 10_000
VALUES = st.lists(st.integers(-2000, 2000).map(lambda value: value / 64), min_size=4, max_size=40).filter(
    lambda values: max(values) > min(values)
)
SIDES = st.sampled_from(["two", "low", "high"])
WEAK = [1.42, 1.51, 0.38, 1.47, 1.55, 1.44, 1.49, 1.46, 1.53, 1.40]


# --- Grubbs


@given(values=VALUES, side=SIDES)
def test_against_the_definition(values, side):
    found = outliers.grubbs(values, side=side)
    data = np.array(values)
    distance = {
        "two": np.abs(data - data.mean()),
        "low": data.mean() - data,
        "high": data - data.mean(),
    }[side]
    assert found.statistic == pytest.approx(distance.max() / data.std(ddof=1), rel=1e-9)
    assert distance[found.index] == pytest.approx(distance.max(), abs=1e-9)
    assert found.value == values[found.index]
    assert found.index == values.index(found.value)
    assert found.critical == outliers.grubbs_critical(len(values), side=side)
    assert (found.n, found.side, found.alpha) == (len(values), side, 0.05)


@given(values=VALUES, side=SIDES, alpha=st.floats(0.001, 0.5))
def test_flag_p_value_and_critical_value_say_the_same(values, side, alpha):
    found = outliers.grubbs(values, side=side, alpha=alpha)
    assert found.outlier is (found.p_value < alpha)
    if abs(found.statistic - found.critical) > 1e-9:
        assert found.outlier is (found.statistic > found.critical)
    assert 0 <= found.p_value <= 1


@given(values=VALUES, side=SIDES, seed=st.integers(0, 1000))
def test_order_place_and_unit_do_not_matter(values, side, seed):
    found = outliers.grubbs(values, side=side)
    shuffled = np.random.default_rng(seed).permutation(values)
    assert dataclasses.replace(outliers.grubbs(shuffled, side=side), index=found.index) == found
    moved = outliers.grubbs(4 * np.array(values) + 100, side=side)  # exact in doubles, so ties stay ties
    assert moved.statistic == pytest.approx(found.statistic, rel=1e-9)
    assert moved.p_value == pytest.approx(found.p_value, rel=1e-6, abs=1e-12)
    assert (moved.index, moved.value) == (found.index, 4 * found.value + 100)


@given(values=VALUES)
def test_sides_mirror(values):
    low, high = outliers.grubbs(values, side="low"), outliers.grubbs(np.negative(values), side="high")
    assert (low.statistic, low.p_value, low.index) == (
        pytest.approx(high.statistic),
        pytest.approx(high.p_value),
        high.index,
    )


def test_the_low_side_does_not_see_a_high_value():
    assert outliers.grubbs(WEAK, side="low").outlier
    assert not outliers.grubbs(WEAK, side="high").outlier
    assert outliers.grubbs(WEAK).index == 2


def test_three_values_two_equal_are_as_far_as_can_be():
    found = outliers.grubbs([1.0, 1.0, 5.0])
    assert found.statistic == pytest.approx(2 / np.sqrt(3), rel=1e-12)
    assert (found.p_value, found.outlier) == (0, True)


def test_a_very_far_value_keeps_the_digits_of_its_p_value():
    values = [1.0, 1.1, 0.9, 1.05, 0.95, 1e7]  # G is within 1e-15 of its largest possible value
    found = outliers.grubbs(values, side="high")
    t = (1e7 - 1) / (np.std(values[:-1], ddof=1) * np.sqrt(1.2))
    assert found.p_value == pytest.approx(6 * stats.t.sf(t, 4), rel=1e-9)
    assert outliers.grubbs(values, side="high", alpha=1e-100).outlier is False
    assert outliers.grubbs(values, side="high", alpha=1e-25).outlier


def test_large_constant_leading_digits():
    shape = np.array([0, 1, 2, 3, 4, 5, 6, 40.0])
    assert outliers.grubbs(1e9 + shape / 8).statistic == pytest.approx(outliers.grubbs(shape).statistic, rel=1e-12)


@given(n=st.integers(3, 300), alpha=st.floats(1e-6, 0.5))
def test_critical_values_grow_with_n_and_fall_with_the_risk(n, alpha):
    found = outliers.grubbs_critical(n, side="high", alpha=alpha)
    assert found < (n - 1) / np.sqrt(n) * (1 + 1e-12)
    assert outliers.grubbs_critical(n, side="high", alpha=alpha / 2) == outliers.grubbs_critical(
        n, side="two", alpha=alpha
    )
    assert outliers.grubbs_critical(n, side="low", alpha=alpha) == found
    assert outliers.grubbs_critical(n, side="high", alpha=alpha / 2) >= found
    assert outliers.grubbs_critical(n + 1, side="high", alpha=alpha) > found


def largest(n):
    samples = np.random.default_rng(17).normal(3, 0.4, (SAMPLES, n))
    return (samples.max(axis=1) - samples.mean(axis=1)) / samples.std(axis=1, ddof=1)


def within_chance_of(share):
    """Four standard errors of the simulated share."""
    return pytest.approx(share, abs=4 * np.sqrt(share * (1 - share) / SAMPLES))


@pytest.mark.parametrize("n", [4, 12])
def test_the_risk_is_what_it_says(n):
    """For so few values Bonferroni's bound is exact at 5 %."""
    assert np.mean(largest(n) > outliers.grubbs_critical(n, side="high", alpha=0.05)) == within_chance_of(0.05)
    # positive control: the two-sided value at the same risk is another
    assert np.mean(largest(n) > outliers.grubbs_critical(n, side="two", alpha=0.05)) != within_chance_of(0.05)


def test_the_bound_is_exact_where_no_second_value_can_be_as_far():
    for n, exact in ((14, True), (15, False)):
        limit = np.sqrt((n - 1) * (n - 2) / (2 * n))
        assert (outliers.grubbs_critical(n, side="high", alpha=0.05) > limit) == exact
    for n, exact in ((13, True), (14, False)):
        assert (outliers.grubbs_critical(n, side="two", alpha=0.05) > np.sqrt((n - 1) / 2)) == exact


# --- Several outliers


def by_hand(values, most, alpha):
    left, places, statistics, criticals = np.array(values), list(range(len(values))), [], []
    order = []
    for _ in range(most):
        far = int(np.argmax(np.abs(left - left.mean())))
        statistics.append(abs(left[far] - left.mean()) / left.std(ddof=1))
        n = left.size
        t = stats.t.isf(alpha / (2 * n), n - 2)
        criticals.append((n - 1) * t / np.sqrt(n * (n - 2 + t * t)))
        order.append(places.pop(far))
        left = np.delete(left, far)
    count = max((i + 1 for i in range(most) if statistics[i] > criticals[i]), default=0)
    return statistics, criticals, count, order


@pytest.mark.parametrize("seed", range(20))
def test_several_against_the_definition(seed):
    values = np.random.default_rng(seed).standard_t(2, 25)
    statistics, criticals, count, order = by_hand(values, 6, 0.1)
    found = outliers.generalized_esd(values, max_outliers=6, alpha=0.1)
    assert found.statistics == pytest.approx(statistics, rel=1e-10)
    assert found.criticals == pytest.approx(criticals, rel=1e-10)
    assert (found.count, found.indices, found.suspects) == (count, tuple(order[:count]), tuple(order))
    assert (found.n, found.alpha) == (25, 0.1)


def test_outliers_that_hide_each_other():
    values = [*np.linspace(1.4, 1.6, 12), 4.0, 4.05, 4.1]
    assert not outliers.grubbs(values, side="high").outlier
    assert outliers.generalized_esd(values, max_outliers=4).indices == (14, 13, 12)


def test_one_step_is_the_two_sided_test_for_one():
    one = outliers.generalized_esd(WEAK, max_outliers=1)
    assert (one.statistics[0], one.criticals[0]) == (
        pytest.approx(outliers.grubbs(WEAK).statistic),
        outliers.grubbs(WEAK).critical,
    )
    assert one.indices == (2,)


def test_equal_values_that_are_left_are_not_outliers():
    found = outliers.generalized_esd([2.0, 2.0, 2.0, 2.0, 9.0, 2.0], max_outliers=3)
    assert found.statistics[1:] == (0, 0)
    assert found.suspects[0] == 4
    assert len(set(found.suspects)) == 3
    assert found.count == 1


@given(values=VALUES, seed=st.integers(0, 1000))
def test_several_do_not_depend_on_the_order(values, seed):
    found = outliers.generalized_esd(values, max_outliers=2)
    shuffled = np.random.default_rng(seed).permutation(values)
    other = outliers.generalized_esd(shuffled, max_outliers=2)
    assert (other.statistics, other.criticals, other.count) == (found.statistics, found.criticals, found.count)
    assert [shuffled[place] for place in other.suspects] == [values[place] for place in found.suspects]


def test_the_risk_of_several_is_close_to_what_it_says():
    """Rosner's simulations: close for 25 values and more; from memory."""
    samples = np.random.default_rng(23).normal(size=(1000, 40))
    flagged = np.mean([outliers.generalized_esd(sample, max_outliers=3).count > 0 for sample in samples])
    assert flagged == pytest.approx(0.05, abs=0.028)
    careless = np.mean([outliers.generalized_esd(sample, max_outliers=3, alpha=0.2).count > 0 for sample in samples])
    assert careless != pytest.approx(0.05, abs=0.028)  # positive control


# --- Refusals


@pytest.mark.parametrize(
    ("values", "arguments", "sentence"),
    [
        ([1, 2], {}, r"values must hold at least 3 numbers; got 2\."),
        ([1, 2, float("nan")], {}, r"values must be finite numbers"),
        ([2, 2, 2], {}, r"values must not all be equal; got 3 times 2\.0\."),
        ([1, 2, 3], {"side": "left"}, r"side must be one of two, low, high; got 'left'\."),
        ([1, 2, 3], {"alpha": 5}, r"alpha must be between 0 and 1, both left out; got 5\."),
        ([1, 2, 3], {"alpha": 1e-200}, r"alpha must be 1e-100 or more; got 1e-200\."),
    ],
)
def test_grubbs_refuses(values, arguments, sentence):
    with pytest.raises(ValueError, match=sentence):
        outliers.grubbs(values, **arguments)


@pytest.mark.parametrize(
    ("n", "arguments", "sentence"),
    [
        (2, {}, r"n must be at least 3; got 2\."),
        (5, {"side": "both"}, r"side must be one of two, low, high; got 'both'\."),
        (5, {"alpha": 0}, r"alpha must be between 0 and 1"),
    ],
)
def test_critical_values_refuse(n, arguments, sentence):
    with pytest.raises(ValueError, match=sentence):
        outliers.grubbs_critical(n, **arguments)


@pytest.mark.parametrize(
    ("values", "arguments", "sentence"),
    [
        ([1, 2], {"max_outliers": 1}, r"values must hold at least 3 numbers; got 2\."),
        ([2, 2, 2], {"max_outliers": 1}, r"values must not all be equal"),
        ([1, 2, 3, 4], {"max_outliers": 0}, r"max_outliers must be at least 1; got 0\."),
        ([1, 2, 3, 4], {"max_outliers": 3}, r"max_outliers must be at most 2, two less than the values; got 3\."),
        ([1, 2, 3, 4], {"max_outliers": 1, "alpha": 1}, r"alpha must be between 0 and 1"),
    ],
)
def test_several_refuse(values, arguments, sentence):
    with pytest.raises(ValueError, match=sentence):
        outliers.generalized_esd(values, **arguments)
