"""A constructed peel trace whose answers follow from its shape (own construction, no source)."""

import numpy as np
import pytest

from labrecords.stats import traces, units

TRAVEL = np.arange(201) / 10
FORCE = np.select([TRAVEL < 4, TRAVEL <= 16], [TRAVEL, 4 + 0.5 * np.sin(np.pi * (TRAVEL - 4))], default=20 - TRAVEL)


@pytest.fixture(scope="module")
def reduced():
    return traces.reduce_trace(TRAVEL, FORCE)


@pytest.mark.parametrize(
    ("field", "expected"),
    [
        ("peak_force_n", 4.5),
        ("peak_displacement_mm", 4.5),
        ("start_mm", 0.9),
        ("end_mm", 19.1),
        ("analysed_from_mm", 2.72),
        ("analysed_to_mm", 17.28),
        ("mean_force_n", 3.8874725275),
        ("min_force_n", 2.72),
        ("max_force_n", 4.5),
        ("energy_mj", 64.0),
        ("energy_span_mj", 63.19),
        ("threshold_n", 0.9),
    ],
)
def test_answers(reduced, field, expected):
    assert getattr(reduced, field) == pytest.approx(expected, abs=5e-11)


def test_ends_are_closed_and_readings_counted(reduced):
    assert (reduced.start_open, reduced.end_open) == (False, False)
    assert reduced.points == 145  # 2.8, 2.9, ... 17.2 mm
    assert reduced.noise_n is None  # five quiet readings say nothing


def test_mean_is_the_integral_over_the_analysed_span(reduced):
    # two ramps of 1.28 mm from 2.72 to 4 N, and 12 mm of plateau at 4 N on average: the sine cancels over its
    # six whole periods
    assert reduced.mean_force_n == pytest.approx((2 * 1.28 * 3.36 + 12 * 4) / 14.56, abs=1e-12)


def test_plain_mean_of_all_points_is_another_number(reduced):
    assert FORCE.mean() == pytest.approx(3.18408, abs=5e-6)
    assert reduced.mean_force_n - FORCE.mean() > 0.7


def test_strengths(reduced):
    assert units.strength(reduced.peak_force_n, 25.4, "N/mm") == pytest.approx(0.177165, abs=5e-7)
    assert units.strength(reduced.peak_force_n, 25.4, "lbf/in") == pytest.approx(1.01164, abs=5e-6)
