"""The probability plot against closed forms and published plotting positions."""

import numpy as np
import pytest
from scipy.stats import norm, probplot

from labrecords.charts.limits import Limit
from labrecords.charts.probability import probability_plot
from labrecords.stats.probability import normal_positions

VALUES = [7.1, 7.4, 6.9, 7.8, 7.2, 7.5, 7.0, 7.3, 7.6, 6.8, 7.35, 7.25, 7.15, 7.45, 7.05, 7.55]
CODES = [f"S{n}." for n in range(len(VALUES))]


def test_positions_are_bloms():
    # R, help page of ppoints: (i - a)/(n + 1 - 2a), a = 3/8 for ten values or fewer. From memory.
    expected = [(i - 3 / 8) / (5 + 1 - 2 * 3 / 8) for i in range(1, 6)]
    np.testing.assert_allclose(normal_positions([5, 3, 1, 2, 4]).share, expected, rtol=1e-12)


def test_quantiles_are_near_those_of_another_rule():
    # scipy.stats.probplot uses Filliben's positions: close in the middle, never equal.
    others = probplot(VALUES, fit=False)[0]
    ours = normal_positions(VALUES).quantile
    np.testing.assert_allclose(ours, others, atol=0.06)
    assert not np.allclose(ours, others, atol=1e-4)


def test_band_of_the_lowest_and_highest_value_has_a_closed_form():
    # The lowest of n uniform numbers is at most u with probability 1 - (1 - u)^n
    # (H. A. David, H. N. Nagaraja, Order Statistics, 3rd ed., section 2.1).
    found, n = normal_positions(VALUES), len(VALUES)
    low, high = (found.mean + found.sd * norm.ppf(1 - (1 - share) ** (1 / n)) for share in (0.025, 0.975))
    assert (found.low[0], found.high[0]) == pytest.approx((low, high), rel=1e-9)
    assert found.high[-1] == pytest.approx(2 * found.mean - low, rel=1e-9)


def test_band_holds_95_percent_of_normal_samples_at_each_place():
    # Simulation with the mean and deviation known, which is what the band takes them for.
    draws = np.sort(np.random.default_rng(7).standard_normal((20_000, 10)), axis=1)
    found = normal_positions(np.linspace(-1, 1, 10).tolist())
    low, high = (found.low - found.mean) / found.sd, (found.high - found.mean) / found.sd
    np.testing.assert_allclose(((draws >= low) & (draws <= high)).mean(axis=0), 0.95, atol=0.01)


def test_normal_looking_values_stay_within_the_band():
    figure = probability_plot(VALUES, CODES, unit="N/15 mm", decimals=2)
    assert figure.title == "All 16 values lie within the band around the line."


def test_value_outside_the_band_is_named_with_its_side():
    values = [*VALUES, 12.0]
    figure = probability_plot(values, [*CODES, "S99."], unit="N/15 mm", decimals=2)
    assert any(s.startswith("Right of the band:") and "S99. 12.00" in s for s in figure.summary)


def test_every_value_outside_a_limit_is_named():
    figure = probability_plot(VALUES, CODES, unit="N/15 mm", decimals=2, limits=[Limit(7.0)])
    told = next(sentence for sentence in figure.summary if "requirement" in sentence)
    for code, value in zip(CODES, VALUES, strict=True):
        assert (f"{code} {value:.2f}" in told) is (value < 7.0)


@pytest.mark.parametrize(("size", "warned"), [(14, True), (15, False)])
def test_few_values_carry_a_caution(size, warned):
    # Fifteen: common practice, no source.
    figure = probability_plot(VALUES[:size], CODES[:size], unit="N", decimals=2)
    assert ("Too few values to judge the tails." in figure.title) is warned


def test_subtitle_states_position_line_band_and_n():
    subtitle = probability_plot(VALUES, CODES, unit="N", decimals=2).subtitle
    for words in ("n = 16", "(i − 0.375)/(n + 0.25)", "mean and standard deviation", "pointwise 95 % band"):
        assert words in subtitle


def test_ticks_are_percents_at_normal_quantiles():
    ticks = {text: at for at, text in probability_plot(VALUES, CODES, unit="N", decimals=2).y.ticks}
    assert list(ticks) == ["1 %", "5 %", "10 %", "25 %", "50 %", "75 %", "90 %", "95 %", "99 %"]
    # Standard normal quantile of 0.99, any table: 2.3263.
    assert ticks["99 %"] == pytest.approx(2.3263, abs=5e-5)


@pytest.mark.parametrize(
    ("values", "words"),
    [([1.0, 2.0], "must hold at least 3 numbers"), ([3.0, 3.0, 3.0], "must not all be equal")],
)
def test_too_few_or_equal_values_are_refused(values, words):
    with pytest.raises(ValueError, match=words):
        normal_positions(values)


def test_codes_must_match_values():
    with pytest.raises(ValueError, match="one specimen code"):
        probability_plot(VALUES, CODES[1:], unit="N", decimals=2)
