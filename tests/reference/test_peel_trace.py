"""What the constructed trace of tests/reference/cases/traces.py shows besides its numbers (own construction)."""

import pytest

from labrecords.stats import traces
from tests.reference.cases.traces import FORCE, TRAVEL


@pytest.fixture(scope="module")
def reduced():
    return traces.reduce_trace(TRAVEL, FORCE)


def test_ends_are_closed_and_the_quiet_part_is_too_short(reduced):
    assert (reduced.start_open, reduced.end_open) == (False, False)
    assert reduced.noise_n is None  # five quiet readings say nothing


def test_mean_is_the_integral_over_the_analysed_span(reduced):
    # two ramps of 1.28 mm from 2.72 to 4 N, and 12 mm of plateau at 4 N on average: the sine cancels over its
    # six whole periods
    assert reduced.mean_force_n == pytest.approx((2 * 1.28 * 3.36 + 12 * 4) / 14.56, abs=1e-12)


def test_plain_mean_of_all_points_is_another_number(reduced):
    assert FORCE.mean() == pytest.approx(3.18408, abs=5e-6)
    assert reduced.mean_force_n - FORCE.mean() > 0.7
