from decimal import Decimal

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from labrecords.stats import traces
from labrecords.stats.interval import Interval

FORCES = st.lists(st.floats(0, 100), min_size=3, max_size=40).filter(lambda forces: max(forces) > 0.1)


@st.composite
def peels(draw):
    """Travel that never falls, and as many forces, closed at both ends."""
    force = np.array([0.0, *draw(FORCES), 0.0])
    steps = draw(st.lists(st.floats(0.01, 2), min_size=force.size - 1, max_size=force.size - 1))
    return np.concatenate(([0.0], np.cumsum(steps))), force


# --- clean_trace


def test_a_trace_in_order_is_kept_as_it_was():
    found = traces.clean_trace([0, 0.1, 0.2], [1, 3, 2])
    assert (found.dropped, found.equal, found.backward) == (0, 0, 0)
    assert found.force_n.tolist() == [1, 3, 2]
    assert found.rows.tolist() == [0, 1, 2]


def test_rows_without_numbers_are_dropped_and_counted():
    travel = [0, None, 0.2, float("nan"), 0.4, 0.5]
    force = ["1.5", 2, "", 3, Decimal("4.25"), float("inf")]
    found = traces.clean_trace(travel, force)
    assert found.dropped == 4
    assert found.displacement_mm.tolist() == [0, 0.4]
    assert found.force_n.tolist() == [1.5, 4.25]
    assert found.rows.tolist() == [0, 4]


def test_a_column_of_a_table_may_hold_missing_values():
    found = traces.clean_trace(pd.Series([0, 1, pd.NA, 2], dtype="Float64"), pd.Series(["1", "x", "3", "4"]))
    assert found.dropped == 2
    assert found.force_n.tolist() == [1, 4]


def test_equal_and_backward_steps_are_counted_and_put_in_order_stably():
    found = traces.clean_trace([0, 0.10, 0.08, 0.08, 0.10, 0.20], [0, 1, 2, 3, 4, 5])
    assert (found.equal, found.backward) == (1, 1)
    assert found.displacement_mm.tolist() == [0, 0.08, 0.08, 0.10, 0.10, 0.20]
    assert found.force_n.tolist() == [0, 2, 3, 1, 4, 5]
    assert found.rows.tolist() == [0, 2, 3, 1, 4, 5]


def test_order_of_acquisition_is_kept_among_many_equal_travels():
    travel = np.concatenate((np.zeros(500), np.full(500, 0.04), np.full(500, 0.02)))
    found = traces.clean_trace(travel, np.arange(1500))
    assert found.force_n.tolist() == [*range(500), *range(1000, 1500), *range(500, 1000)]


def test_a_step_of_just_the_jitter_is_allowed():
    assert traces.clean_trace([0, 1.00, 0.95, 2], [0, 1, 2, 3]).backward == 1
    assert traces.clean_trace([0, 1.00, 0.5, 2], [0, 1, 2, 3], jitter_mm=0.5).backward == 1


@pytest.mark.parametrize(
    ("travel", "jitter", "sentence"),
    [
        ([0, 1.00, 0.94, 2], 0.05, r"by more than jitter_mm = 0\.05; got 0\.06 mm back at row 3\."),
        ([0, None, 1, 0.5], 0.05, r"got 0\.5 mm back at row 4\."),  # counted as in the file
        ([0, 1, 0.97, 0.94], 0.05, r"got 0\.06 mm back at row 4\."),  # a slow return is no jitter
        ([0, 0.1, 0.09, 1], 0, r"by more than jitter_mm = 0; got 0\.01 mm back at row 3\."),
    ],
)
def test_larger_backward_steps_are_refused_by_row(travel, jitter, sentence):
    with pytest.raises(ValueError, match=sentence):
        traces.clean_trace(travel, [0, 1, 2, 3], jitter_mm=jitter)


@pytest.mark.parametrize(
    ("travel", "force", "sentence"),
    [
        ([0, 1], [0, 1, 2], r"displacement_mm and force_n must be equally long; got 2 and 3\."),
        ([0, None], [0, 1], r"must hold at least 2 rows of numbers; got 1\."),
        ([[0, 1]], [0, 1], r"displacement_mm must be one-dimensional; got 2 dimensions\."),
        ([0, 1], [0, 1e200], r"force_n must be finite numbers no larger than"),
    ],
)
def test_clean_trace_refuses(travel, force, sentence):
    with pytest.raises(ValueError, match=sentence):
        traces.clean_trace(travel, force)


def test_clean_trace_refuses_a_negative_jitter():
    with pytest.raises(ValueError, match=r"jitter_mm must be 0 or more; got -0\.1\."):
        traces.clean_trace([0, 1], [0, 1], jitter_mm=-0.1)


@given(peel=peels(), seed=st.integers(0, 2**32 - 1))
def test_cleaning_keeps_every_force_and_the_peak(peel, seed):
    travel = peel[0] + np.random.default_rng(seed).uniform(-0.02, 0.02, peel[0].size)
    found = traces.clean_trace(travel, peel[1])
    assert sorted(found.force_n) == sorted(peel[1])
    assert (np.diff(found.displacement_mm) >= 0).all()
    assert np.array_equal(peel[1][found.rows], found.force_n)


# --- reduce_trace


@pytest.mark.parametrize(
    ("force", "start", "end"),
    [
        ([0, 5, 5, 5, 0], (0.2, False), (3.8, False)),
        ([2, 5, 5, 5, 0], (0, True), (3.8, False)),
        ([0, 5, 5, 5, 2], (0.2, False), (4, True)),
        ([1, 5, 5, 5, 1], (0, False), (4, False)),  # at the threshold is not above it
        ([5, 5, 5, 5, 5], (0, True), (4, True)),
        ([0, 1, 5, 0.5, 5], (1, False), (4, True)),  # last crossing, not the first fall
    ],
)
def test_ends_of_the_peel_span(force, start, end):
    found = traces.reduce_trace([0, 1, 2, 3, 4], force)
    assert (found.start_mm, found.start_open) == (pytest.approx(start[0]), start[1])
    assert (found.end_mm, found.end_open) == (pytest.approx(end[0]), end[1])


def test_the_peak_is_the_first_of_equal_peaks():
    assert traces.reduce_trace([0, 1, 2, 3], [0, 5, 5, 0]).peak_displacement_mm == 1


def test_an_analysed_span_between_two_readings():
    found = traces.reduce_trace([0, 10, 11], [0, 10, 0], span_fraction=0.1)
    assert found.points == 0
    # span 2 to 10.8, its central tenth 5.96 to 6.84, on the straight rise
    assert found.mean_force_n == pytest.approx(6.4, abs=1e-12)
    assert (found.min_force_n, found.max_force_n) == pytest.approx((5.96, 6.84))


def test_a_sudden_break_at_one_travel():
    found = traces.reduce_trace([0, 4, 4], [0, 4, 0], span_fraction=1)
    assert (found.start_mm, found.end_mm) == pytest.approx((0.8, 4))
    assert found.mean_force_n == pytest.approx(2.4)
    assert found.energy_mj == pytest.approx(8)


def test_readings_at_the_same_travel_as_the_ends_but_outside_the_peel_do_not_count():
    found = traces.reduce_trace([0, 1, 1, 2, 3, 3, 4], [0, 0, 5, 4, 5, 0, 0], span_fraction=1)
    assert (found.start_mm, found.end_mm) == (1, 3)
    assert (found.points, found.min_force_n, found.max_force_n) == (3, 1, 5)  # from and to the threshold
    assert found.mean_force_n == pytest.approx(4.5)
    open_ends = traces.reduce_trace([1, 2, 3], [5, 4, 5], span_fraction=1)
    assert (open_ends.points, open_ends.min_force_n, open_ends.max_force_n) == (3, 4, 5)


def test_noise_is_the_scatter_of_the_quiet_part():
    rng = np.random.default_rng(20240611)
    travel = np.arange(1200) / 100
    quiet = 0.01 * travel + rng.normal(0, 0.02, travel.size)  # drifting zero
    force = np.where(travel < 10, quiet, 5.0)
    force[-1] = 0
    found = traces.reduce_trace(travel, force)
    assert found.noise_n == pytest.approx(0.02, rel=0.15)  # 500 readings: standard error 3 %
    line = np.polyfit(np.arange(500), force[:500], 1)
    residual = force[:500] - np.polyval(line, np.arange(500))
    assert found.noise_n == pytest.approx(np.sqrt((residual**2).sum() / 498), rel=1e-9)


@pytest.mark.parametrize(("before", "known"), [(19, False), (20, True)])
def test_noise_needs_ten_quiet_readings(before, known):
    found = traces.reduce_trace(np.arange(before + 2), [0] * before + [5, 0])
    assert (found.noise_n is not None) is known


@pytest.mark.parametrize(
    ("travel", "force", "options", "sentence"),
    [
        ([0, 1], [0, 1], {}, r"displacement_mm must hold at least 3 numbers; got 2\."),
        ([0, 1, 2], [0, 1, 2, 3], {}, r"must be equally long; got 3 and 4\."),
        ([0, 2, 1], [0, 1, 2], {}, r"displacement_mm must never fall; it falls at row 3\."),
        ([0, 1, 2], [0, -1, 0], {}, r"force_n must rise above 0; its largest value is 0\.0\."),
        ([0, 1, 2], [0, float("nan"), 0], {}, r"force_n must be finite numbers .* at position 2\."),
        ([1, 1, 1], [0, 1, 0], {}, r"displacement_mm must grow while force_n is above the threshold"),
        ([0, 1, 2], [0, 1, 0], {"threshold_fraction": 0}, r"threshold_fraction must be between 0 and 1"),
        ([0, 1, 2], [0, 1, 0], {"threshold_fraction": 20}, r"threshold_fraction must be between 0 and 1"),
        ([0, 1, 2], [0, 1, 0], {"span_fraction": 0}, r"span_fraction must be above 0; got 0\."),
        ([0, 1, 2], [0, 1, 0], {"span_fraction": 80}, r"span_fraction must be at most 1; got 80\."),
        ([0, 1, 2], [0, 1, 0], {"span_fraction": 1e-20}, r"span_fraction must leave a length to analyse"),
    ],
)
def test_reduce_trace_refuses(travel, force, options, sentence):
    with pytest.raises(ValueError, match=sentence):
        traces.reduce_trace(travel, force, **options)


@given(peel=peels(), scale=st.floats(0.01, 100), shift=st.floats(-50, 50))
def test_scale_and_shift(peel, scale, shift):
    travel, force = peel
    plain = traces.reduce_trace(travel, force)
    moved = traces.reduce_trace(travel + shift, scale * force)
    assert moved.peak_force_n == pytest.approx(scale * plain.peak_force_n)
    assert moved.start_mm == pytest.approx(plain.start_mm + shift, abs=1e-9)
    assert moved.end_mm == pytest.approx(plain.end_mm + shift, abs=1e-9)
    assert moved.mean_force_n == pytest.approx(scale * plain.mean_force_n, rel=1e-6, abs=1e-9)
    assert moved.energy_mj == pytest.approx(scale * plain.energy_mj, rel=1e-9, abs=1e-9)


@given(peel=peels())
def test_readings_put_between_on_the_line_change_no_area(peel):
    travel, force = peel
    finer = np.unique(np.concatenate((travel, (travel[1:] + travel[:-1]) / 2)))
    coarse = traces.reduce_trace(travel, force)
    fine = traces.reduce_trace(finer, np.interp(finer, travel, force))
    for name in ("start_mm", "end_mm", "mean_force_n", "energy_mj", "energy_span_mj", "max_force_n"):
        assert getattr(fine, name) == pytest.approx(getattr(coarse, name), rel=1e-9, abs=1e-9)


@given(peel=peels(), threshold=st.floats(0.05, 0.9), span=st.floats(0.1, 1))
def test_answers_are_in_order(peel, threshold, span):
    found = traces.reduce_trace(*peel, threshold_fraction=threshold, span_fraction=span)
    slack = 1e-9 * (1 + found.end_mm)
    assert found.start_mm <= found.peak_displacement_mm + slack
    assert found.peak_displacement_mm <= found.end_mm + slack
    assert found.start_mm <= found.analysed_from_mm < found.analysed_to_mm <= found.end_mm
    assert found.min_force_n - 1e-9 <= found.mean_force_n <= found.max_force_n + 1e-9
    assert found.max_force_n <= found.peak_force_n * (1 + 1e-12)
    assert found.energy_span_mj <= found.energy_mj + 1e-9


@given(peel=peels())
def test_a_trace_read_backwards_has_the_same_areas(peel):
    travel, force = peel
    plain = traces.reduce_trace(travel, force)
    mirrored = traces.reduce_trace(travel[-1] - travel[::-1], force[::-1])
    assert mirrored.start_mm == pytest.approx(travel[-1] - plain.end_mm, abs=1e-9)
    assert mirrored.end_mm == pytest.approx(travel[-1] - plain.start_mm, abs=1e-9)
    for name in ("mean_force_n", "min_force_n", "max_force_n", "energy_mj", "energy_span_mj"):
        assert getattr(mirrored, name) == pytest.approx(getattr(plain, name), rel=1e-7, abs=1e-9), name


@given(peel=peels(), low=st.floats(0.05, 0.5), span=st.floats(0.1, 0.9))
def test_a_higher_threshold_and_a_smaller_share_shorten_the_span(peel, low, span):
    wide = traces.reduce_trace(*peel, threshold_fraction=low, span_fraction=span)
    high = traces.reduce_trace(*peel, threshold_fraction=1.5 * low, span_fraction=span)
    narrow = traces.reduce_trace(*peel, threshold_fraction=low, span_fraction=span / 2)
    slack = 1e-9 * (1 + wide.end_mm)
    assert wide.start_mm <= high.start_mm + slack
    assert high.end_mm <= wide.end_mm + slack
    assert wide.analysed_from_mm < narrow.analysed_from_mm < narrow.analysed_to_mm < wide.analysed_to_mm
    assert narrow.min_force_n >= wide.min_force_n - 1e-9
    assert narrow.max_force_n <= wide.max_force_n + 1e-9


# --- measured_rate


def test_rate_over_the_peel_span_only():
    time = np.arange(0, 20, 0.1)
    travel = np.where(time < 10, 2 * time, 20 + 5 * (time - 10))  # 120, then 300 mm/min
    assert traces.measured_rate(travel, time, within_mm=Interval(21, 60)) == pytest.approx(300)
    assert traces.measured_rate(travel, time, within_mm=Interval(0, 19)) == pytest.approx(120)
    assert 120 < traces.measured_rate(travel, time) < 300


def test_rate_does_not_depend_on_the_order_of_the_readings():
    rng = np.random.default_rng(7)
    time = np.arange(50) / 10
    travel = 5 * time + rng.normal(0, 0.01, 50)
    order = rng.permutation(50)
    assert traces.measured_rate(travel[order], time[order]) == pytest.approx(traces.measured_rate(travel, time))
    assert traces.measured_rate(travel, time) == pytest.approx(60 * np.polyfit(time, travel, 1)[0])


@pytest.mark.parametrize(
    ("travel", "time", "within", "sentence"),
    [
        ([0, 1], [0, 1, 2], None, r"displacement_mm and time_s must be equally long; got 2 and 3\."),
        ([0, 1], [0, float("nan")], None, r"time_s must be finite numbers"),
        ([0, 1], [3, 3], None, r"time_s must not all be equal; got 2 times 3\.0\."),
        ([0, 1], [0, 1], Interval(5, 6), r"time_s must hold at least 2 numbers; got 0\."),
        ([1, 0], [0, 1], None, r"displacement_mm must grow with time_s; got a rate of -60\.0 mm/min\."),
        ([1, 1], [0, 1], None, r"displacement_mm must grow with time_s; got a rate of 0\.0 mm/min\."),
    ],
)
def test_measured_rate_refuses(travel, time, within, sentence):
    with pytest.raises(ValueError, match=sentence):
        traces.measured_rate(travel, time, within_mm=within)
