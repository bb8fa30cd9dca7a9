import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from labrecords.stats import control, run_rules

VALUES = st.lists(st.integers(-2000, 2000).map(lambda value: value / 64), min_size=2, max_size=60).filter(
    lambda values: max(values) > min(values)
)
GROUPS = st.lists(
    st.lists(st.integers(-2000, 2000).map(lambda value: value / 64), min_size=4, max_size=4), min_size=2, max_size=15
).filter(lambda groups: any(max(group) > min(group) for group in groups))


# --- Constants


@pytest.mark.parametrize("n", [2, 3, 5, 10, 30])
def test_range_constants_against_the_studentised_range(n):
    """With all degrees of freedom the studentised range is the range itself."""
    r = np.linspace(0, 12, 241)
    beyond = stats.studentized_range.sf(r, n, np.inf)
    found = control.constants(n)
    assert found.d2 == pytest.approx(np.trapezoid(beyond, r), abs=2e-4)
    assert found.d3**2 + found.d2**2 == pytest.approx(np.trapezoid(2 * r * beyond, r), abs=2e-3)


def test_constants_against_simulation():
    samples = np.random.default_rng(3).normal(size=(200_000, 6))
    ranges, found = np.ptp(samples, axis=1), control.constants(6)
    assert found.d2 == pytest.approx(ranges.mean(), abs=4 * found.d3 / np.sqrt(200_000))
    assert found.d3 == pytest.approx(ranges.std(), rel=0.01)
    assert found.c4 == pytest.approx(samples.std(axis=1, ddof=1).mean(), abs=0.003)
    assert control.constants(7).d2 != pytest.approx(ranges.mean(), abs=4 * found.d3 / np.sqrt(200_000))


@pytest.mark.parametrize("n", [2, 3, 6, 7, 24, 100, 999])
def test_constants_follow_from_three(n):
    found, larger = control.constants(n), control.constants(n + 1)
    assert found.c4 < larger.c4 < 1
    assert found.d2 < larger.d2
    means, sds, ranges = (found.A2, found.A3), (found.B3, found.B4), (found.D3, found.D4)
    assert means == pytest.approx((3 / (found.d2 * np.sqrt(n)), 3 / (found.c4 * np.sqrt(n))), rel=1e-14)
    for low, high in (sds, ranges):
        assert low == pytest.approx(max(0, 2 - high))


@pytest.mark.parametrize(
    ("n", "sentence"),
    [
        (1, r"n must be at least 2; got 1\."),
        (2.0, r"n must be a whole number"),
        (1001, r"n must be at most 1000; got 1001\."),
    ],
)
def test_constants_refuse(n, sentence):
    with pytest.raises(ValueError, match=sentence):
        control.constants(n)


# --- Individuals


@given(values=VALUES)
def test_individuals_against_the_definition(values):
    found = control.individuals(values)
    ranges = np.abs(np.diff(values))
    sigma = ranges.mean() * np.sqrt(np.pi) / 2
    assert found.centre == pytest.approx(np.mean(values), abs=1e-9)
    assert (found.mr_bar, found.sigma) == (pytest.approx(ranges.mean()), pytest.approx(sigma))
    assert (found.lower, found.upper) == (
        pytest.approx(np.mean(values) - 3 * sigma, abs=1e-9),
        pytest.approx(np.mean(values) + 3 * sigma, abs=1e-9),
    )
    assert found.moving_ranges == pytest.approx(tuple(ranges))
    assert found.mr_upper == pytest.approx(control.constants(2).D4 * ranges.mean())


@given(values=VALUES, scale=st.sampled_from([0.25, 4.0, 1024.0]), shift=st.integers(-100, 100))
def test_individuals_move_with_place_and_unit(values, scale, shift):
    found, moved = control.individuals(values), control.individuals(scale * np.array(values) + shift)
    for name in ("centre", "lower", "upper"):
        assert getattr(moved, name) == pytest.approx(scale * getattr(found, name) + shift, rel=1e-9, abs=1e-9), name
    assert moved.mr_bar == pytest.approx(scale * found.mr_bar)


def test_a_jump_is_seen_on_both_charts():
    found = control.individuals([5.0, 5.1, 4.9, 5.0, 5.1, 4.9, 5.0, 5.1, 4.9, 5.0, 5.1, 4.9, 6.5])
    assert found.signals.beyond_three_sigma == (12,)
    assert found.mr_signals == (11,)


def test_a_run_may_be_of_any_length():
    values = [1, -1, 1, -1, 1, -1, 2, 1, 2, 1, 2, -9]
    assert control.individuals(values, run_length=5).signals.run == (10,)
    assert control.individuals(values).signals.run == ()


def test_false_signals_are_as_rare_as_three_sigma_promise():
    found = control.individuals(np.random.default_rng(8).normal(5, 0.8, 100_000))
    share = len(found.signals.beyond_three_sigma) / 100_000
    assert share == pytest.approx(2 * stats.norm.sf(3), abs=4 * np.sqrt(0.0027 / 100_000) + 1e-4)
    assert found.sigma == pytest.approx(0.8, rel=0.01)
    skewed = control.individuals(np.random.default_rng(8).exponential(1, 100_000))
    assert len(skewed.signals.beyond_three_sigma) / 100_000 > 0.01  # positive control


# --- Means and standard deviations


@given(groups=GROUPS)
def test_mean_and_sd_against_the_definition(groups):
    found = control.mean_and_sd(groups)
    means, sds = np.mean(groups, axis=1), np.std(groups, axis=1, ddof=1)
    of_four = control.constants(4)
    assert found.means == pytest.approx(tuple(means), abs=1e-9)
    assert found.sds == pytest.approx(tuple(sds), abs=1e-9)
    assert found.sd_centre == pytest.approx(sds.mean())
    assert found.sigma == pytest.approx(sds.mean() / of_four.c4)
    assert found.upper - found.centre == pytest.approx(of_four.A3 * sds.mean())
    assert found.centre - found.lower == pytest.approx(of_four.A3 * sds.mean())
    assert (found.sd_lower, found.sd_upper) == (0, pytest.approx(of_four.B4 * sds.mean()))


def test_a_wide_and_a_narrow_subgroup_are_seen():
    rng = np.random.default_rng(4)
    groups = [*rng.normal(0, 1, (20, 10)), rng.normal(0, 6, 10), np.linspace(-0.01, 0.01, 10), rng.normal(9, 1, 10)]
    found = control.mean_and_sd(groups)
    assert found.sd_signals == (20, 21)
    assert found.signals.beyond_three_sigma[-1] == 22
    assert found.sd_lower == pytest.approx(control.constants(10).B3 * found.sd_centre)


@pytest.mark.parametrize(
    ("groups", "sentence"),
    [
        ([[1, 2]], r"subgroups must be at least 2; got 1\."),
        ([[1, 2], [1]], r"subgroups must hold at least 2 numbers; got 1\."),
        ([[1, 2], [1, 2, 3]], r"subgroups must be equally large; got 2 to 3 values\."),
        ([[1, 1], [2, 2]], r"subgroups must hold different values in at least one; got 2 without any spread\."),
        ([[1, 2], [1, float("nan")]], r"subgroups must be finite numbers"),
    ],
)
def test_mean_and_sd_refuse(groups, sentence):
    with pytest.raises(ValueError, match=sentence):
        control.mean_and_sd(groups)


@pytest.mark.parametrize(
    ("values", "arguments", "sentence"),
    [
        ([1], {}, r"values must hold at least 2 numbers; got 1\."),
        ([2, 2], {}, r"values must not all be equal"),
        ([1, 2], {"run_length": 1}, r"run_length must be at least 2; got 1\."),
    ],
)
def test_individuals_refuse(values, arguments, sentence):
    with pytest.raises(ValueError, match=sentence):
        control.individuals(values, **arguments)


# --- Rules


def signals(values, **arguments):
    return control.run_rules(values, centre=0, sigma=1, **arguments)


@pytest.mark.parametrize(
    ("values", "rule", "places"),
    [
        ([0.1, 3.1, -0.1, -3.1], "beyond_three_sigma", (1, 3)),
        ([3.0, -3.0], "beyond_three_sigma", ()),  # on the line is not beyond
        ([2.1, 2.1], "two_of_three", (1,)),
        ([2.1, 0.1, 2.1], "two_of_three", (2,)),
        ([2.1, 2.1, 0.1], "two_of_three", (1,)),  # the third completes nothing
        ([2.1, 0.1, 0.1, 2.1], "two_of_three", ()),
        ([2.1, -2.1], "two_of_three", ()),  # sides must agree
        ([-2.1, -0.1, -2.1], "two_of_three", (2,)),
        ([1.1, 1.1, 1.1, 1.1], "four_of_five", (3,)),
        ([1.1, 1.1, -2, 1.1, 1.1, 1.1], "four_of_five", (4, 5)),
        ([1.1, 1.1, 0, 0, 1.1, 1.1], "four_of_five", ()),
        ([-1.1] * 5, "four_of_five", (3, 4)),
        ([0.1] * 9, "run", (7, 8)),
        ([0.1] * 7 + [0] + [0.1] * 7, "run", ()),  # on the centre line ends the run
        ([-0.1] * 8, "run", (7,)),
    ],
)
def test_patterns(values, rule, places):
    assert getattr(signals(values), rule) == places


def test_the_rules_are_named_and_gathered():
    found = signals([3.5, 2.5, *[1.5] * 6], run_length=8)
    assert set(run_rules.RULES) == {"beyond_three_sigma", "two_of_three", "four_of_five", "run"}
    assert (found.beyond_three_sigma, found.two_of_three, found.run) == ((0,), (1,), (7,))
    assert found.points == (0, 1, 3, 4, 5, 6, 7)
    assert found.run_length == 8


@given(values=st.lists(st.floats(-5, 5), min_size=1, max_size=60))
def test_rules_against_windows_and_mirror(values):
    found = signals(values)
    assert signals(np.negative(values)) == found
    for lines, needed, window, rule in ((2, 2, 3, "two_of_three"), (1, 4, 5, "four_of_five"), (0, 8, 8, "run")):
        expected = [
            place
            for place in range(len(values))
            for side in (1, -1)
            if side * values[place] > lines
            and sum(side * value > lines for value in values[max(0, place - window + 1) : place + 1]) >= needed
        ]
        assert getattr(found, rule) == tuple(expected)


def test_all_rules_together_cry_wolf_after_92_points():
    """Champ and Woodall (1987): 91.75 points on average with all four rules, 370.4 with the first; from memory."""
    series = np.random.default_rng(12).normal(size=(1500, 1000))
    points = [signals(line).points for line in series]
    lengths = np.array([found[0] + 1 for found in points if found])
    assert len(lengths) == 1500
    assert lengths.mean() == pytest.approx(91.75, abs=4 * lengths.std() / np.sqrt(1500))
    with_longer_runs = np.array([(signals(line, run_length=9).points or (1000,))[0] + 1 for line in series[:400]])
    assert with_longer_runs.mean() > lengths[:400].mean()


@pytest.mark.parametrize(
    ("values", "arguments", "sentence"),
    [
        ([], {}, r"values must hold at least 1 number; got 0\."),
        ([1], {"centre": float("nan")}, r"centre must be a finite number; got nan\."),
        ([1], {"sigma": 0}, r"sigma must be above 0; got 0\."),
        ([1], {"run_length": 1}, r"run_length must be at least 2; got 1\."),
        ([1], {"run_length": 8.0}, r"run_length must be a whole number; got 8\.0\."),
    ],
)
def test_rules_refuse(values, arguments, sentence):
    with pytest.raises(ValueError, match=sentence):
        control.run_rules(values, **({"centre": 0, "sigma": 1} | arguments))


# --- Moving averages


@given(values=VALUES, weight=st.floats(0.01, 1))
def test_ewma_against_the_weighted_sum(values, weight):
    found = control.ewma(values, weight=weight, limit=3, mean=2, sigma=1.5)
    for place in (0, len(values) - 1):
        weights = weight * (1 - weight) ** np.arange(place, -1, -1)
        expected = weights @ values[: place + 1] + (1 - weight) ** (place + 1) * 2
        assert found.values[place] == pytest.approx(expected, rel=1e-9, abs=1e-9)
        # the variance of that sum of independent values
        half = 3 * 1.5 * np.sqrt((weights**2).sum())
        assert (found.lower[place], found.upper[place]) == (pytest.approx(2 - half), pytest.approx(2 + half))
    assert found.centre == 2
    assert found.steady_lower - 1e-12 <= found.lower[-1] <= found.lower[0]


def test_weight_one_charts_the_values():
    found = control.ewma([1.0, 3.5, -3.5], weight=1, limit=3, mean=0, sigma=1)
    assert (found.values, found.signals) == ((1.0, 3.5, -3.5), (1, 2))
    assert set(found.upper) == {3.0}


def test_a_very_small_weight_keeps_its_limits():
    found = control.ewma([1.0, 2.0], weight=1e-12, limit=3, mean=0, sigma=1)
    assert found.upper[0] == pytest.approx(3e-12, rel=1e-9)


def test_a_small_shift_is_seen_sooner_than_by_single_values():
    values = np.random.default_rng(6).normal(1, 1, (500, 100))  # one sigma off
    ewma = [(control.ewma(line, weight=0.2, limit=3, mean=0, sigma=1).signals or (99,))[0] for line in values]
    single = [(control.run_rules(line, centre=0, sigma=1).beyond_three_sigma or (99,))[0] for line in values]
    assert np.mean(ewma) < np.mean(single) / 2


@pytest.mark.parametrize(
    ("values", "arguments", "sentence"),
    [
        ([], {}, r"values must hold at least 1 number; got 0\."),
        ([1], {"weight": 0}, r"weight must be above 0; got 0\."),
        ([1], {"weight": 1.5}, r"weight must be at most 1; got 1\.5\."),
        ([1], {"limit": -3}, r"limit must be above 0; got -3\."),
        ([1], {"mean": float("inf")}, r"mean must be a finite number; got inf\."),
        ([1], {"sigma": 0}, r"sigma must be above 0; got 0\."),
    ],
)
def test_ewma_refuses(values, arguments, sentence):
    with pytest.raises(ValueError, match=sentence):
        control.ewma(values, **({"weight": 0.2, "limit": 3, "mean": 0, "sigma": 1} | arguments))
