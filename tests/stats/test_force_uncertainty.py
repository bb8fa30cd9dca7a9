"""The relative uncertainty of a force that a load cell reads."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labrecords.stats.force_uncertainty import relative_uncertainty

CELL = {"expanded_percent": 0.24, "noise_n": 0.014, "resolution_n": 0.001}


def test_it_is_the_root_of_the_sum_of_squares_twice():
    # GUM 5.1.2 with the parts independent; 2.0000 is the normal factor for 95.45 %
    parts = (0.0024 / 2, 0.014 / 5, 0.001 / 2 / math.sqrt(3) / 5)
    assert relative_uncertainty(5.0, **CELL) == pytest.approx(2 * math.hypot(*parts), rel=1e-4)


def test_a_factor_of_its_own_is_taken_off():
    told = {"noise_n": None, "resolution_n": None}
    three = relative_uncertainty(5.0, expanded_percent=0.3, coverage_factor=3.0, **told)
    assert three == pytest.approx(relative_uncertainty(5.0, expanded_percent=0.2, **told))


@given(st.floats(0.1, 50), st.floats(1.01, 10))
def test_a_larger_force_is_known_better(force, times):
    assert relative_uncertainty(force * times, **CELL) < relative_uncertainty(force, **CELL)


@pytest.mark.parametrize(
    ("force", "changed", "words"),
    [
        (0.0, {}, "force_n"),
        (5.0, {"noise_n": -0.1}, "noise_n"),
        (5.0, {"expanded_percent": -0.1}, "expanded_percent"),
        (5.0, {"resolution_n": -0.1}, "resolution_n"),
        (5.0, {"coverage_factor": 0.0}, "coverage_factor"),
        (5.0, dict.fromkeys(CELL), "must be known"),
    ],
)
def test_what_cannot_be_is_said(force, changed, words):
    with pytest.raises(ValueError, match=words):
        relative_uncertainty(force, **CELL | changed)
