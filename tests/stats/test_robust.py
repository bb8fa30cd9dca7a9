"""Median and scaled median absolute deviation, beside scipy's, and what no wild value may move."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from labrecords.stats.robust import PER_MAD, robust_spread

NUMBERS = st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=40)


@given(NUMBERS)
def test_as_scipy_has_it(values):
    found = robust_spread(values)
    assert found.sd == pytest.approx(stats.median_abs_deviation(values, scale="normal"), rel=1e-12, abs=1e-12)
    assert found.median == np.median(values)


def test_the_constant_is_the_normal_quartile():
    assert pytest.approx(1 / stats.norm.ppf(0.75), rel=1e-15) == PER_MAD


@given(st.lists(st.floats(1, 2), min_size=5, max_size=20), st.floats(1e3, 1e9))
def test_one_wild_value_moves_neither_out_of_the_others(values, wild):
    found = robust_spread([*values, wild])
    assert min(values) <= found.median <= max(values)
    assert found.sd <= PER_MAD * (max(values) - min(values)) + 1e-12


@pytest.mark.parametrize("values", [[], [1.0, float("nan")], [[1.0]]])
def test_what_is_no_list_of_numbers_is_refused(values):
    with pytest.raises(ValueError, match="values must"):
        robust_spread(values)
