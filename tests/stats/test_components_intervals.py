"""Intervals of variance components hold the true variance as often as they say, by simulation."""

import numpy as np
import pytest
from scipy import stats

from labrecords.stats.components import crossed_gauge, one_way_components
from labrecords.stats.gauge_estimates import crossed_weights, from_mean_squares, nested_weights
from labrecords.stats.meansquares import Term, linear_interval, satterthwaite_interval
from tests.stats.test_components import study, thinned

pytestmark = pytest.mark.no_cover  # many samples: other tests show that every line is reached

SAMPLES = 4_000
PARTS, OPERATORS, COUNT = 10, 3, 2


def coverage(weights, expected, df, truth, *, confidence, stretch=1.0):
    """Share of samples whose interval holds the truth; mean squares are drawn as they are distributed."""
    rng = np.random.default_rng(20)
    draws = {name: expected[name] * rng.chisquare(df[name], SAMPLES) for name in expected}
    held = dict.fromkeys(truth, 0)
    for place in range(SAMPLES):
        sums = {name: (float(draws[name][place]), df[name]) for name in expected}
        intervals = from_mean_squares(sums, weights, confidence=confidence)[1]
        for name in truth:
            held[name] += intervals[name].low <= stretch * truth[name] <= intervals[name].high
    return {name: count / SAMPLES for name, count in held.items()}


def crossed(truth):
    """Expected mean squares and degrees of freedom of the crossed design."""
    inner = truth["repeatability"] + COUNT * truth["interaction"]
    expected = {
        "part": inner + COUNT * OPERATORS * truth["part"],
        "operator": inner + COUNT * PARTS * truth["operator"],
        "interaction": inner,
        "repeatability": truth["repeatability"],
    }
    df = {"part": PARTS - 1, "operator": OPERATORS - 1, "interaction": (PARTS - 1) * (OPERATORS - 1)}
    return expected, df | {"repeatability": PARTS * OPERATORS * (COUNT - 1)}


TRUTHS = [
    {"repeatability": 1.0, "operator": 0.5, "interaction": 0.3, "part": 4.0},
    {"repeatability": 1.0, "operator": 0.05, "interaction": 1.0, "part": 0.2},
]


@pytest.mark.parametrize("truth", TRUTHS)
def test_crossed_intervals_hold_what_they_promise(truth):
    expected, df = crossed(truth)
    whole = truth | {
        "grr": truth["repeatability"] + truth["operator"] + truth["interaction"],
        "total": sum(truth.values()),
    }
    weights = crossed_weights(COUNT, parts=PARTS, operators=OPERATORS)
    found = coverage(weights, expected, df, whole, confidence=0.9)
    assert found["repeatability"] == pytest.approx(0.9, abs=0.012)  # exact: 4 standard errors
    assert all(0.885 < share < 0.97 for share in found.values()), found
    wrong = coverage(weights, expected, df, whole, confidence=0.9, stretch=3.0)
    assert all(share < 0.885 for name, share in wrong.items() if name in ("repeatability", "part")), wrong


def test_nested_intervals_hold_what_they_promise():
    operators, parts, count = 4, 5, 3
    truth = {"repeatability": 1.0, "part": 0.8, "operator": 0.6}
    expected = {
        "operator": 1.0 + count * 0.8 + count * parts * 0.6,
        "part": 1.0 + count * 0.8,
        "repeatability": 1.0,
    }
    df = {"operator": operators - 1, "part": operators * (parts - 1), "repeatability": operators * parts * (count - 1)}
    whole = truth | {"grr": 1.6, "total": 2.4}
    found = coverage(nested_weights(count, parts=parts), expected, df, whole, confidence=0.95)
    assert found["repeatability"] == pytest.approx(0.95, abs=0.009)
    assert all(0.94 < share < 0.985 for share in found.values()), found


def test_unequal_groups_hold_nearly_what_they_promise():
    sizes, rng = [2, 3, 3, 5, 6, 8], np.random.default_rng(5)
    places = np.repeat(np.arange(6), sizes)
    held = wrong = 0
    for _ in range(4000):
        values = rng.normal(0, 1, 6)[places] + rng.normal(0, 1, places.size)
        interval = one_way_components(np.split(values, np.cumsum(sizes)[:-1]), confidence=0.9).intervals["between"]
        held += interval.low <= 1 <= interval.high
        wrong += interval.low <= 9 <= interval.high
    assert 0.88 < held / 4000 < 0.93
    assert wrong / 4000 < 0.8


def test_intervals_of_unbalanced_studies_are_a_guide():
    held = {"repeatability": 0, "part": 0, "grr": 0}
    truth = {"repeatability": 0.25, "part": 1.0, "grr": 0.16 + 0.09 + 0.25}
    for seed in range(40):
        table = thinned(study(seed=seed, parts=8, operators=4, sds=(0.4, 1.0, 0.3, 0.5)), seed=seed, share=0.1)
        intervals = crossed_gauge(table, confidence=0.9).intervals
        for name in held:
            found = intervals[name]
            held[name] += found is not None and found.low <= truth[name] <= found.high
    assert held["repeatability"] / 40 == pytest.approx(0.9, abs=0.12)
    assert min(held.values()) / 40 > 0.75


def test_one_term_is_the_chi_squared_interval():
    low, high = 3.0 * 7 / stats.chi2.ppf([0.975, 0.025], 7)
    assert linear_interval([Term(3.0, 7)], confidence=0.95) == pytest.approx((low, high), rel=1e-12)
    assert satterthwaite_interval(3.0, 7, confidence=0.95) == pytest.approx((low, high), rel=1e-12)


def test_a_difference_is_close_to_the_exact_interval_of_two_mean_squares():
    """Where one mean square is known exactly, the difference is the other's interval less a constant."""
    found = linear_interval([Term(9.0, 6), Term(-2.0, 1e9)], confidence=0.95)
    low, high = 9.0 * 6 / stats.chi2.ppf([0.975, 0.025], 6) - 2
    assert found == pytest.approx((low, high), rel=1e-3)


def test_what_has_no_interval():
    assert satterthwaite_interval(0.0, 1.0, confidence=0.9) is None
    assert satterthwaite_interval(1.0, 0.0, confidence=0.9) is None
    assert satterthwaite_interval(1.0, 0.1, confidence=0.9) is None
    assert linear_interval([Term(0.0, 4), Term(0.0, 3)], confidence=0.9) == (0, 0)
    assert linear_interval([Term(0.1, 4), Term(-50.0, 30)], confidence=0.9) == (0, 0)


@pytest.mark.parametrize("confidence", [1e-9, 0.5, 1 - 1e-12])
def test_extreme_confidence_gives_numbers(confidence):
    found = linear_interval([Term(2.0, 1), Term(1.0, 2), Term(-0.5, 1)], confidence=confidence)
    assert np.isfinite(found).all()
    assert 0 <= found.low <= found.high
