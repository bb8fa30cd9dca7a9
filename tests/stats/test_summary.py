import dataclasses
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from labrecords.stats.summary import summarise, summarise_censored

VALUES = st.lists(st.integers(-10_000, 10_000).map(lambda value: value / 64), min_size=4, max_size=60)
SPREAD = VALUES.filter(lambda values: max(values) > min(values))


@given(values=SPREAD)
def test_against_numpy_and_scipy(values):
    found = summarise(values)
    expected = {
        "n": len(values),
        "mean": np.mean(values),
        "sd": np.std(values, ddof=1),
        "variance": np.var(values, ddof=1),
        "sem": stats.sem(values),
        "minimum": min(values),
        "maximum": max(values),
        "range": np.ptp(values),
        "median": np.median(values),
        "q1": np.quantile(values, 0.25),
        "q3": np.quantile(values, 0.75),
        "mad": stats.median_abs_deviation(values),
        "skewness": stats.skew(values, bias=False),
        "kurtosis": stats.kurtosis(values, bias=False),
    }
    for name, value in expected.items():
        assert getattr(found, name) == pytest.approx(value, rel=1e-8, abs=1e-8), name


@pytest.mark.parametrize("confidence", [0.5, 0.95, 0.999])
def test_intervals_against_the_distributions(confidence):
    values = [1.42, 1.51, 1.38, 1.47, 1.55, 1.44]
    found = summarise(values, confidence=confidence)
    mean = stats.t.interval(confidence, 5, loc=np.mean(values), scale=stats.sem(values))
    assert found.mean_interval == pytest.approx(mean, rel=1e-12)
    low, high = np.sqrt(5 * np.var(values, ddof=1) / np.array(stats.chi2.interval(confidence, 5)[::-1]))
    assert found.sd_interval == pytest.approx((low, high), rel=1e-12)
    assert found.confidence == confidence


@given(values=VALUES, seed=st.integers(0, 1000))
def test_the_order_of_the_values_changes_nothing(values, seed):
    shuffled = np.random.default_rng(seed).permutation(values)
    assert summarise(shuffled) == summarise(values)


@given(values=SPREAD, scale=st.sampled_from([0.5, 3.0, 1000.0]), shift=st.integers(-100, 100))
def test_location_and_scale(values, scale, shift):
    plain, moved = summarise(values), summarise(scale * np.array(values) + shift)
    tolerance = {"rel": 1e-7, "abs": 1e-7}
    for name in ("mean", "median", "q1", "q3", "minimum", "maximum"):
        assert getattr(moved, name) == pytest.approx(scale * getattr(plain, name) + shift, **tolerance), name
    for name in ("sd", "sem", "range", "mad"):
        assert getattr(moved, name) == pytest.approx(scale * getattr(plain, name), **tolerance), name
    for name in ("skewness", "kurtosis"):
        assert getattr(moved, name) == pytest.approx(getattr(plain, name), rel=1e-6, abs=1e-6), name


@given(values=SPREAD)
def test_intervals_hold_the_estimate_and_widen_with_confidence(values):
    narrow, wide = summarise(values, confidence=0.8), summarise(values, confidence=0.99)
    assert wide.mean_interval.low < narrow.mean_interval.low < narrow.mean < narrow.mean_interval.high
    assert wide.sd_interval.low < narrow.sd_interval.low
    assert narrow.sd_interval.high < wide.sd_interval.high


@pytest.mark.parametrize(("mean", "sd", "n"), [(1e9, 0.1, 1000), (1e7, 1e-6, 1001), (0.1, 1e-3, 20_001)])
def test_mean_and_variance_against_exact_fractions(mean, sd, n):
    values = mean + sd * np.random.default_rng(0).normal(size=n)
    held = [Fraction(value) for value in values.tolist()]
    exact_mean = sum(held) / n
    exact_variance = sum((value - exact_mean) ** 2 for value in held) / (n - 1)
    found = summarise(values)
    assert abs(Fraction(found.mean) - exact_mean) <= np.spacing(mean) / 2 * 1.01
    assert found.variance == pytest.approx(float(exact_variance), rel=1e-13)


def test_equal_values_have_no_shape():
    assert np.full(7, 0.1).std(ddof=1) > 0  # what numpy makes of it
    found = summarise([0.1] * 7)
    assert (found.mean, found.sd, found.mad) == (0.1, 0, 0)
    assert (found.skewness, found.kurtosis) == (None, None)


def test_few_values_have_no_shape():
    assert (summarise([1, 2]).skewness, summarise([1, 2]).kurtosis) == (None, None)
    assert summarise([1, 2, 6]).skewness == pytest.approx(stats.skew([1, 2, 6], bias=False))
    assert summarise([1, 2, 6]).kurtosis is None


def test_cv_needs_a_mean_above_zero():
    assert summarise([-1, 1]).cv is None
    assert summarise([-3, -1]).cv is None
    assert summarise([9, 11]).cv == pytest.approx(np.sqrt(2) / 10)


@pytest.mark.parametrize(
    ("values", "confidence", "sentence"),
    [
        ([1], 0.95, r"values must hold at least 2 numbers; got 1\."),
        ([1, float("nan")], 0.95, r"values must be finite numbers"),
        ([1, 2], 95, r"confidence must be between 0 and 1, both left out; got 95\."),
    ],
)
def test_summarise_refuses(values, confidence, sentence):
    with pytest.raises(ValueError, match=sentence):
        summarise(values, confidence=confidence)


def test_the_result_cannot_be_changed():
    with pytest.raises(dataclasses.FrozenInstanceError):
        summarise([1, 2]).mean = 5


# --- summarise_censored


@given(values=VALUES, below=st.integers(0, 30), above=st.integers(0, 30))
def test_what_is_known_is_what_it_would_be_if_all_were_measured(values, below, above):
    found = summarise_censored(values, below=below, above=above)
    for weak, strong in ((1e3, 1e3), (1e6, 1e9)):  # whatever the unmeasured ones are
        whole = [min(values) - weak] * below + values + [max(values) + strong] * above
        answers = dict(
            zip(
                ("minimum", "q1", "median", "q3", "maximum"),
                np.quantile(whole, [0, 0.25, 0.5, 0.75, 1]),
                strict=True,
            )
        )
        for name, answer in answers.items():
            known = getattr(found, name)
            assert known is None or known == pytest.approx(answer, rel=1e-12, abs=1e-9), name
    assert (found.n, found.below, found.above) == (len(values), below, above)
    assert found.total == len(values) + below + above
    assert (found.smallest, found.largest) == (min(values), max(values))


def test_without_censoring_all_is_known():
    values = [0.3, 0.5, 0.6, 0.9]
    found, plain = summarise_censored(values), summarise(values)
    for name in ("minimum", "q1", "median", "q3", "maximum"):
        assert getattr(found, name) == getattr(plain, name)


@pytest.mark.parametrize(
    ("below", "above", "known"),
    [
        (0, 1, {"minimum", "q1", "median", "q3"}),  # ranks 0, 1, 2, 3 of 0..4
        (1, 0, {"q1", "median", "q3", "maximum"}),
        (3, 0, {"median", "q3", "maximum"}),
        (5, 0, {"q3", "maximum"}),
        (40, 0, {"maximum"}),
        (2, 2, {"median"}),  # the quartiles, 1.75 and 5.25, need a neighbour that was not measured
        (9, 9, {"median"}),
        (20, 9, set()),
    ],
)
def test_which_quantiles_are_known(below, above, known):
    found = summarise_censored([0.3, 0.5, 0.6, 0.9], below=below, above=above)
    names = ("minimum", "q1", "median", "q3", "maximum")
    assert {name for name in names if getattr(found, name) is not None} == known


def test_no_mean_is_pretended():
    names = {field.name for field in dataclasses.fields(summarise_censored([1], below=1))}
    assert not names & {"mean", "sd", "variance", "cv", "sem", "mean_interval"}


def test_all_too_weak():
    found = summarise_censored([], below=30)
    assert (found.n, found.total, found.median, found.smallest, found.largest) == (0, 30, None, None, None)


@pytest.mark.parametrize(
    ("values", "below", "above", "sentence"),
    [
        ([], 0, 0, r"values must hold at least 1 number where below and above are 0; got 0\."),
        ([1], -1, 0, r"below must be at least 0; got -1\."),
        ([1], 0, 1.5, r"above must be a whole number; got 1\.5\."),
        ([float("inf")], 0, 0, r"values must be finite numbers"),
    ],
)
def test_summarise_censored_refuses(values, below, above, sentence):
    with pytest.raises(ValueError, match=sentence):
        summarise_censored(values, below=below, above=above)
