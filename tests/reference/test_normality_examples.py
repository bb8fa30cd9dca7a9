"""Tests of normality against published examples and critical values."""

import numpy as np
import pytest
from scipy import optimize

from labrecords.stats import normality, summary
from tests.reference import tables

ZARR13 = tables.column("zarr13.csv")
# Shapiro and Wilk (1965), Biometrika 52, weights of eleven men in pounds; from memory.
WEIGHTS = [148, 154, 158, 160, 161, 162, 166, 170, 182, 195, 236]
# scipy's own tests (test_morestats, TestShapiro), from memory.
SCIPY_X1 = [0.11, 7.87, 4.61, 10.14, 7.95, 3.14, 0.46, 4.43, 0.21, 4.75]
SCIPY_X1 += [0.71, 1.52, 3.24, 0.93, 0.42, 4.97, 9.53, 4.55, 0.47, 6.66]


def test_heat_flow_meter_summary():
    # NIST/SEMATECH e-Handbook 1.4.2.8: n 195, mean 9.261460, sd 0.022789, range from 9.196848 to 9.327973
    found = summary.summarise(ZARR13)
    assert found.n == 195
    assert (found.mean, found.sd) == pytest.approx((9.26146076, 0.02278880), abs=5e-9)
    assert (found.minimum, found.maximum, found.median) == (9.196848, 9.327973, 9.261952)


def test_heat_flow_meter_is_normal():
    # NIST/SEMATECH e-Handbook 1.4.2.8.2: Anderson-Darling 0.129 by its program, critical 0.787 (from memory);
    # digits by the definition
    found = normality.anderson_darling(ZARR13)
    assert (found.statistic, found.adjusted) == pytest.approx((0.126479, 0.126973), abs=5e-7)
    assert found.p_value == pytest.approx(0.985, abs=5e-4)
    found = normality.shapiro_wilk(ZARR13)
    assert (found.statistic, found.p_value) == pytest.approx((0.998272, 0.9992), abs=5e-5)


def test_weights_of_men():
    found = normality.shapiro_wilk(WEIGHTS)
    assert found.statistic == pytest.approx(0.79, abs=5e-3)
    assert found.p_value < 0.01


def test_values_carried_by_scipy():
    found = normality.shapiro_wilk(SCIPY_X1)
    assert (found.statistic, found.p_value) == pytest.approx((0.900473, 0.0420897), abs=5e-7)


@pytest.mark.parametrize(
    ("adjusted", "p_value"),
    # D'Agostino and Stephens (1986), table 4.7, case 3: critical adjusted statistics; from memory.
    [(0.631, 0.10), (0.752, 0.05), (0.873, 0.025), (1.035, 0.01)],
)
def test_critical_values_give_their_level(adjusted, p_value):
    values = _values_with_adjusted(adjusted)
    found = normality.anderson_darling(values)
    assert found.adjusted == pytest.approx(adjusted, abs=1e-9)
    assert found.p_value == pytest.approx(p_value, rel=0.02)


def _values_with_adjusted(adjusted):
    """Twenty values bent just far enough from normal."""
    straight = np.linspace(-1.8, 1.8, 20)

    def excess(bend):
        return normality.anderson_darling(np.exp(bend * straight)).adjusted - adjusted

    return np.exp(optimize.brentq(excess, 0.1, 3, xtol=1e-14) * straight)
