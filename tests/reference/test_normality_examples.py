"""Published critical values of the test of normality, reached from the other side."""

import numpy as np
import pytest
from scipy import optimize

from labrecords.stats import normality


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
