"""How many strips a bound or a standard deviation needs, held against printed tables and a simulation."""

import math

import numpy as np
import pytest

from labrecords.stats import factors
from labrecords.stats.bound_size import for_bound, for_sd

BOUND = {"distance": 0.3, "sd": 0.1, "coverage": 0.95, "confidence": 0.95, "chance": 0.9}


def test_degrees_of_freedom_by_a_printed_table():
    """NIST/SEMATECH e-Handbook, 1.3.6.7.4, lower critical values at 0.05: 15.379 for 26 degrees, 16.151 for 27."""
    found = for_sd(ratio=1.3, confidence=0.95)
    assert math.sqrt(26 / 15.379) > 1.3 > math.sqrt(27 / 16.151)
    assert found.df == 27
    assert found.ratio_achieved == pytest.approx(math.sqrt(27 / 16.151), abs=5e-5)


def test_the_fewest_that_reach_the_chance():
    found = for_bound(**BOUND)
    assert found.power_achieved >= 0.9
    with_one_less = for_bound(**BOUND | {"chance": found.power_achieved - 0.02})
    assert with_one_less.n < found.n


def test_the_chance_by_drawing():
    """Forty thousand samples of n normal values: as often does m - k s clear the limit."""
    found, draws = for_bound(**BOUND), 40_000
    values = np.random.default_rng(7).normal(0.3, 0.1, (draws, found.n))
    k = factors.one_sided(found.n, found.n - 1.0, 0.95, 0.95)
    cleared = np.mean(values.mean(axis=1) - k * values.std(axis=1, ddof=1) > 0)
    assert cleared == pytest.approx(found.power_achieved, abs=4 * math.sqrt(0.09 / draws))


@pytest.mark.parametrize(
    ("differs", "said"),
    [
        ({"coverage": 0.4}, "coverage must be 0.5 or more"),
        ({"distance": 0.1}, "distance over sd must be above 1.64485"),
        ({"sd": 0.0}, "sd"),
        ({"chance": 1.0}, "chance"),
    ],
)
def test_a_bound_that_cannot_be_asked_for(differs, said):
    with pytest.raises(ValueError, match=said):
        for_bound(**BOUND | differs)


@pytest.mark.parametrize(
    ("ratio", "confidence", "said"),
    [(1.0, 0.95, "ratio must be above 1"), (1.3, 0.4, "confidence must be 0.5 or more")],
)
def test_a_ratio_that_cannot_be_asked_for(ratio, confidence, said):
    with pytest.raises(ValueError, match=said):
        for_sd(ratio=ratio, confidence=confidence)
