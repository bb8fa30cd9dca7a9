import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import special, stats

from labrecords.stats import noncentral

DF = st.integers(1, 5000)
T = st.floats(-20, 20)


def test_nodes_integrate_a_polynomial_exactly():
    """Gauss and Legendre's rule of n nodes is exact up to degree 2 n - 1: x^6 over -1 to 1 is 2/7, by hand."""
    points, weights = noncentral._standard_nodes()
    assert float(weights @ points**6) == pytest.approx(2 / 7, rel=1e-13)


@given(t=T, df=DF)
def test_without_shift_it_is_student(t, df):
    # scipy's own stdtr keeps but 11 digits near t = 0
    expected = 0.5 + np.sign(t) / 2 * special.betainc(0.5, df / 2, t * t / (df + t * t))
    assert noncentral.below(t, df, 0.0) == pytest.approx(expected, abs=1e-13)


@given(t=st.floats(0, 20), df=st.integers(10, 5000), shift=st.floats(0, 8))
def test_against_scipy_where_scipy_is_good(t, df, shift):
    assert noncentral.below(t, df, shift) == pytest.approx(float(stats.nct.cdf(t, df, shift)), abs=1e-11)
    assert noncentral.above(t, df, shift) == pytest.approx(float(stats.nct.sf(t, df, shift)), abs=1e-11)


@given(t=st.floats(-3000, 3000), df=DF, shift=st.floats(-3000, 3000))
def test_the_two_tails_make_one_and_mirror(t, df, shift):
    assert noncentral.below(t, df, shift) + noncentral.above(t, df, shift) == pytest.approx(1, abs=2e-14)
    assert noncentral.below(t, df, shift) == pytest.approx(noncentral.above(-t, df, -shift), abs=1e-14)


@pytest.mark.parametrize(("t", "df", "shift"), [(20, 1, 20), (50, 5, 50), (310, 99, 300), (2000, 29, 1800), (5, 3, 30)])
def test_large_shifts_by_another_integral(t, df, shift):
    # over p = P(s <= its quantile): no density, no step; where scipy's own distribution fails
    points, weights = np.polynomial.legendre.leggauss(100)
    edges = np.concatenate([[0], 0.5 ** np.arange(60, 1, -1), 1 - 0.5 ** np.arange(1, 61)])
    middle, half = (edges[1:] + edges[:-1]) / 2, np.diff(edges) / 2
    tail = ((edges[1:] + edges[:-1]) / 2)[:, None] + half[:, None] * points
    s = np.sqrt(2 * special.gammaincinv(df / 2, tail) / df)
    expected = float(((weights * special.ndtr(t * s - shift)).sum(axis=1) * half).sum())
    assert middle.size == half.size
    assert noncentral.below(t, df, shift) == pytest.approx(expected, abs=1e-10)


def test_many_degrees_of_freedom_come_to_the_normal():
    assert noncentral.above(2.0, 2e9, 1.5) == pytest.approx(stats.norm.sf(0.5), abs=1e-9)


@pytest.mark.parametrize(("df", "t"), [(2, 1.5), (2, 4.0), (10, 2.0), (10, 9.0), (400, 1.6), (400, 40.0)])
@pytest.mark.parametrize(("low", "high"), [(-5.0, 5.0), (-30.0, 4.0), (-300.0, 30.0), (-1.0, 0.5)])
def test_two_at_once_against_simulation(df, t, low, high):
    rng = np.random.default_rng(7)
    z, s = rng.normal(size=40_000), np.sqrt(rng.chisquare(df, 40_000) / df)
    share = np.mean((z >= low + t * s) & (z <= high - t * s))
    expected = noncentral.between(t, df, low, high)
    assert share == pytest.approx(expected, abs=4.5 * np.sqrt(max(expected * (1 - expected), 1e-4) / 40_000))


@given(t=st.floats(1, 8), df=st.integers(2, 200), low=st.floats(-40, -1), high=st.floats(1, 40))
def test_two_at_once_is_no_more_than_either(t, df, low, high):
    found = noncentral.between(t, df, low, high)
    assert 0 <= found <= min(noncentral.above(t, df, high), noncentral.above(t, df, -low)) + 1e-13
    # Bonferroni: no less than both less one
    assert found >= noncentral.above(t, df, high) + noncentral.above(t, df, -low) - 1 - 1e-13


def test_two_at_once_of_nothing():
    assert noncentral.between(1.7, 2, -1e-200, 1e-200) == 0


@given(t=st.floats(-500, 500), df=DF, confidence=st.floats(1e-6, 1 - 1e-6))
def test_shift_keeps_its_confidence(t, df, confidence):
    shift = noncentral.shift_at(t, df, confidence)
    assert noncentral.below(t, df, shift) == pytest.approx(confidence, abs=1e-11)
