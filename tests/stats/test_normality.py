import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, stats

from labrecords.stats.normality import anderson_darling, shapiro_wilk

VALUES = st.lists(st.integers(-1000, 1000).map(lambda value: value / 8), min_size=8, max_size=50).filter(
    lambda values: max(values) > min(values)
)


@given(values=VALUES)
def test_statistic_by_its_definition(values):
    """D'Agostino and Stephens (1986), 4.2.2: the sum over the ordered values, written out one by one."""
    n, w = len(values), sorted((np.array(values) - np.mean(values)) / np.std(values, ddof=1))
    terms = [(2 * i + 1) * (stats.norm.logcdf(w[i]) + stats.norm.logsf(w[n - 1 - i])) for i in range(n)]
    found = anderson_darling(values)
    assert found.statistic == pytest.approx(-n - sum(terms) / n, rel=1e-9, abs=1e-9)
    assert found.adjusted == pytest.approx(found.statistic * (1 + 0.75 / n + 2.25 / n**2), rel=1e-14)
    assert 0 <= found.p_value <= 1
    assert found.n == n


def values_with(adjusted):
    """Twenty values bent just far enough from normal to have this adjusted statistic."""
    straight = stats.norm.ppf((np.arange(20) + 0.5) / 20)

    def excess(bend):
        return anderson_darling(np.exp(bend * straight)).adjusted - adjusted

    return np.exp(optimize.brentq(excess, 0.01, 3, xtol=1e-14) * straight)


@pytest.mark.parametrize(
    ("adjusted", "coefficients", "complement"),
    # D'Agostino and Stephens (1986), table 4.9, case 3: just inside both ends of each branch
    [
        (0.1, (-13.436, 101.14, -223.73), True),
        (0.199, (-13.436, 101.14, -223.73), True),
        (0.201, (-8.318, 42.796, -59.938), True),
        (0.339, (-8.318, 42.796, -59.938), True),
        (0.341, (0.9177, -4.279, -1.38), False),
        (0.599, (0.9177, -4.279, -1.38), False),
        (0.601, (1.2937, -5.709, 0.0186), False),
        (2.0, (1.2937, -5.709, 0.0186), False),
    ],
)
def test_four_branches_of_the_p_value(adjusted, coefficients, complement):
    found = anderson_darling(values_with(adjusted))
    assert found.adjusted == pytest.approx(adjusted, abs=1e-9)
    level = np.exp(np.polynomial.polynomial.polyval(found.adjusted, coefficients))
    assert found.p_value == pytest.approx(1 - level if complement else level, rel=1e-12)


def test_p_value_never_turns_back_far_out():
    far, farther = (anderson_darling([0.0] * n + [1.0]) for n in (60, 600))
    assert 10 < far.adjusted < farther.adjusted
    assert far.p_value == farther.p_value == pytest.approx(3.7e-24, rel=0.05)  # R's nortest gives 3.7e-24; from memory


@pytest.mark.parametrize("test", [anderson_darling, shapiro_wilk])
@given(
    values=VALUES,
    scale=st.sampled_from([0.5, 4.0, 1024.0]),
    shift=st.integers(-100, 100),
    seed=st.integers(0, 99),
)
def test_location_scale_and_order_do_not_matter(test, values, scale, shift, seed):
    plain = test(values)
    moved = test(np.random.default_rng(seed).permutation(scale * np.array(values) + shift))
    assert moved.statistic == pytest.approx(plain.statistic, rel=1e-7, abs=1e-7)
    assert moved.p_value == pytest.approx(plain.p_value, rel=1e-4, abs=1e-4)


@pytest.mark.parametrize("test", [anderson_darling, shapiro_wilk])
def test_level_and_power(test):
    """Five per cent of normal samples are called not normal, and most exponential ones (own simulation)."""
    rng = np.random.default_rng(42)
    normal = np.mean([test(rng.normal(size=30)).p_value < 0.05 for _ in range(4000)])
    skewed = np.mean([test(rng.exponential(size=30)).p_value < 0.05 for _ in range(400)])
    assert normal == pytest.approx(0.05, abs=4 * np.sqrt(0.05 * 0.95 / 4000))
    assert skewed > 0.85


@pytest.mark.parametrize(
    ("test", "values", "sentence"),
    [
        (anderson_darling, [1, 2, 3, 4, 5, 6, 7], r"values must hold at least 8 numbers; got 7\."),
        (anderson_darling, [2] * 9, r"values must not all be equal; got 9 times 2\.0\."),
        (anderson_darling, [1] * 8 + [float("nan")], r"values must be finite numbers"),
        (shapiro_wilk, [1, 2], r"values must hold at least 3 numbers; got 2\."),
        (shapiro_wilk, [2] * 9, r"values must not all be equal; got 9 times 2\.0\."),
        (shapiro_wilk, range(5001), r"values must hold at most 5000 numbers for this test; got 5001\."),
    ],
)
def test_refused(test, values, sentence):
    with pytest.raises(ValueError, match=sentence):
        test(values)


def test_shapiro_wilk_has_no_adjusted_statistic():
    found = shapiro_wilk([1.42, 1.51, 1.38])
    assert (found.adjusted, found.n) == (None, 3)
