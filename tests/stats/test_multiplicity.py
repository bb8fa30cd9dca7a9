import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from labrecords.stats import multiplicity, tails

SIZES = st.floats(0, 12)
DEGREES = st.floats(1, 1e6)
LEGAL = st.lists(st.integers(2, 60), min_size=1, max_size=5)


@settings(max_examples=40, deadline=None)
@given(size=SIZES, df=DEGREES, reference=st.integers(2, 50), other=st.integers(2, 50))
def test_a_single_comparison_is_the_t_test(size, df, reference, other):
    expected = pytest.approx(tails.t_both(size, df), rel=1e-11, abs=1e-300)
    assert multiplicity.dunnett_upper(size, reference=reference, others=[other], df=df) == expected
    assert multiplicity.range_upper(size * math.sqrt(2), groups=2, df=df) == expected


@settings(max_examples=40, deadline=None)
@given(size=SIZES, df=DEGREES, reference=st.integers(2, 50), others=LEGAL)
def test_dunnett_lies_between_one_comparison_and_bonferroni(size, df, reference, others):
    found = multiplicity.dunnett_upper(size, reference=reference, others=others, df=df)
    single = tails.t_both(size, df)
    assert single * (1 - 1e-10) <= found <= min(1.0, len(others) * single) * (1 + 1e-10)


@settings(max_examples=40, deadline=None)
@given(size=st.floats(0, 20), df=st.floats(1, 9e4), groups=st.integers(2, 8))
def test_range_against_scipy(size, df, groups):
    # scipy's integral subtracts from 1: about 1e-12 in absolute terms.
    found = multiplicity.range_upper(size, groups=groups, df=df)
    assert found == pytest.approx(stats.studentized_range.sf(size, groups, df), abs=1e-9)


@pytest.mark.parametrize(("reference", "others", "df"), [(6, [6, 6, 6], 20), (10, [8, 9, 6], 29), (3, [12, 5], 17)])
@pytest.mark.parametrize("size", [0.5, 2.3, 4.0])
def test_dunnett_against_scipy_s_multivariate_t(reference, others, df, size):
    shares = np.sqrt([n / (n + reference) for n in others])
    correlation = np.outer(shares, shares)
    np.fill_diagonal(correlation, 1)
    held = stats.multivariate_t.cdf(
        np.full(len(others), size), shape=correlation, df=df, lower_limit=-size, random_state=1, maxpts=100_000
    )
    assert multiplicity.dunnett_upper(size, reference=reference, others=others, df=df) == pytest.approx(
        1 - held, abs=1e-3
    )


@pytest.mark.parametrize("tail", [1e-15, 1e-6, 0.01, 0.05, 0.5, 0.999, 1 - 1e-9])
@pytest.mark.parametrize("df", [1, 2.5, 27, 1e6])
def test_critical_values_invert_the_tails(tail, df):
    others = [10, 7]
    dunnett = multiplicity.dunnett_critical(tail, reference=8, others=others, df=df)
    assert multiplicity.dunnett_upper(dunnett, reference=8, others=others, df=df) == pytest.approx(tail, rel=1e-11)
    spread = multiplicity.range_critical(tail, groups=4, df=df)
    assert multiplicity.range_upper(spread, groups=4, df=df) == pytest.approx(tail, rel=1e-11)


def test_a_single_critical_value_is_that_of_t():
    assert multiplicity.dunnett_critical(0.05, reference=9, others=[4], df=11) == tails.t_quantile(0.025, 11)
    assert multiplicity.range_critical(0.05, groups=2, df=11) == tails.t_quantile(0.025, 11) * math.sqrt(2)


def test_no_confidence_needs_no_margin():
    assert multiplicity.dunnett_critical(1.0, reference=9, others=[4, 5], df=11) == 0


def test_far_out_nothing_is_left():
    for size in (1e5, 1e200):
        assert multiplicity.dunnett_upper(size, reference=9, others=[4, 5], df=200) == 0
        assert multiplicity.range_upper(size, groups=3, df=200) == 0


def test_very_unequal_numbers():
    """A reference of two values beside a thousand: the others share nearly all of their error."""
    found = multiplicity.dunnett_upper(2.0, reference=2, others=[1000, 1000, 1000], df=3000)
    single = tails.t_both(2.0, 3000)
    assert single < found < 1.1 * single


@pytest.mark.parametrize("df", [(1, 2), (4, 180), (9, 13)])
@pytest.mark.parametrize("tail", [0.4, 0.025, 1e-6, 1e-14])
def test_quantiles_of_f_invert_its_tail(df, tail):
    assert tails.f_upper(tails.f_quantile(tail, df), df) == pytest.approx(tail, rel=1e-12)
    assert tails.f_lower(2.0, df) + tails.f_upper(2.0, df) == pytest.approx(1, rel=1e-14)


@pytest.mark.parametrize("size", [0.0, 1e-8, 1e-6, 1e-3, 0.5, 0.999, 1.0, 30.0])
def test_one_degree_of_freedom_is_cauchy_s_distribution(size):
    expected = pytest.approx(1 - 2 / math.pi * math.atan(size), rel=1e-11)
    assert tails.t_both(size, 1) == tails.t_both(-size, 1) == expected
