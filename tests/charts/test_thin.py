"""Thinning keeps what a peak-force figure must not lose."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from labrecords.charts.thin import thin

forces = st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=400)


@given(forces, st.integers(1, 40))
def test_highest_and_lowest_samples_survive(ys, columns):
    _, kept = thin(range(len(ys)), ys, columns=columns)
    assert kept.max() == max(ys)
    assert kept.min() == min(ys)


@given(forces, st.integers(1, 40))
def test_result_is_part_of_the_trace_in_its_order_with_both_ends(ys, columns):
    xs, kept = thin(range(len(ys)), ys, columns=columns)
    assert list(xs) == sorted(set(xs))
    assert [ys[int(x)] for x in xs] == list(kept)
    assert (xs[0], xs[-1]) == (0, len(ys) - 1)


@given(forces, st.integers(1, 40))
def test_at_most_four_samples_a_column_remain(ys, columns):
    assert len(thin(range(len(ys)), ys, columns=columns)[0]) <= 4 * columns


@given(forces)
def test_peak_survives_travel_that_runs_back(ys):
    back_and_forth = [abs(n % 14 - 7) for n in range(len(ys))]
    assert thin(back_and_forth, ys, columns=3)[1].max() == max(ys)


def test_averaging_would_have_lost_the_peak():
    ys = np.zeros(1000)
    ys[500] = 30.0
    assert ys.reshape(100, 10).mean(axis=1).max() == 3.0
    assert thin(np.arange(1000), ys, columns=100)[1].max() == 30.0


def test_long_trace_gets_shorter():
    assert len(thin(np.arange(5000), np.sin(np.arange(5000)), columns=100)[0]) <= 400


@pytest.mark.parametrize(
    ("x", "y", "columns", "reason"),
    [
        ([0, 1], [0], 5, "as many forces"),
        ([], [], 5, "at least one"),
        ([0, 1], [0, float("nan")], 5, "not finite"),
        ([0, 1], [0, 1], 0, "one pixel column"),
    ],
)
def test_unusable_trace_is_refused_with_its_reason(x, y, columns, reason):
    with pytest.raises(ValueError, match=reason):
        thin(x, y, columns=columns)
