"""The curve of a load cell, and its inverse."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from labrecords.stats.calibration_curve import calibration_curve

FORCES = [1.0, 2, 4, 7, 10, 14, 20]


@given(st.floats(1, 20), st.floats(-1, 1), st.floats(0.05, 3), st.floats(-0.001, 0.001))
def test_a_reading_leads_back_to_its_force(force, zero, gain, bend):
    curve = calibration_curve(FORCES, [zero + gain * x + bend * gain * x * x for x in FORCES], degree=2)
    assert curve.force(curve.reading(force)) == pytest.approx(force, rel=1e-9)


def test_a_cell_that_reads_backwards_is_inverted_too():
    curve = calibration_curve(FORCES, [-0.1 * force for force in FORCES], degree=1)
    assert curve.force(-0.5) == pytest.approx(5.0)


def test_the_scatter_is_that_about_the_curve():
    rng = np.random.default_rng(4)
    forces = np.repeat(FORCES, 300)
    curve = calibration_curve(forces, 0.1 * forces + rng.normal(0, 0.02, forces.size), degree=1)
    assert curve.residual_sd == pytest.approx(0.02, rel=0.05)
    assert curve.df == forces.size - 2
    assert abs(curve.coefficients[0]) < 4 * curve.standard_errors[0]


@pytest.mark.parametrize("reading", [0.0, 2.1])
def test_nothing_is_said_beyond_the_points(reading):
    with pytest.raises(ValueError, match="as calibrated"):
        calibration_curve(FORCES, [0.1 * force for force in FORCES], degree=1).force(reading)


@pytest.mark.parametrize(
    ("applied", "readings", "degree", "words"),
    [
        (FORCES, FORCES[1:], 1, "equally long"),
        (FORCES, FORCES, 0, "degree"),
        (FORCES, FORCES, 4, "at most 3"),
        ([1, 2], [1, 2], 1, "at least 3"),
        ([1, 1, 2, 2], [1, 1, 2, 2], 2, "3 different forces"),
        ([1, 2, float("nan"), 4], [1, 2, 3, 4], 1, "applied"),
    ],
)
def test_what_cannot_be_fitted_is_said(applied, readings, degree, words):
    with pytest.raises(ValueError, match=words):
        calibration_curve(applied, readings, degree=degree)
