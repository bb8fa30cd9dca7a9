"""Tolerance factors against approximations, and against integrals that the code under test does not use."""

import numpy as np
import pytest
from scipy import integrate, optimize, special, stats

from labrecords.stats import tolerance
from tests.reference import tables

CLAIMS = [(0.8, 0.8), (0.9, 0.99), (0.95, 0.95), (0.99, 0.9), (0.999, 0.999), (0.9999, 0.95)]


def test_the_tables_are_whole():
    assert len(tables.by_claim("tolerance_one_sided.csv")) == len(tables.by_claim("tolerance_two_sided.csv")) == 23 * 9


# --- NIST/SEMATECH e-Handbook 7.2.6.3: n 43, mean 97.07, s 0.0268, coverage 0.90, confidence 0.99.
# The page's own factors are approximations; the exact ones are quoted beside them.


def test_handbook_one_sided_factor_is_close_to_the_approximation():
    z_coverage, z_confidence = special.ndtri([0.90, 0.99])
    a = 1 - z_confidence**2 / (2 * 42)
    b = z_coverage**2 - z_confidence**2 / 43
    approximate = (z_coverage + np.sqrt(z_coverage**2 - a * b)) / a
    exact = tolerance.one_sided_factor(43, coverage=0.90, confidence=0.99)
    assert (a, b) == pytest.approx((0.9355727, 1.5165164), abs=5e-7)
    assert approximate == pytest.approx(1.8751896, abs=1e-6)
    assert exact == pytest.approx(approximate, rel=1e-3)


def test_handbook_two_sided_factor_is_close_to_howe():
    howe = special.ndtri(0.95) * np.sqrt(42 * (1 + 1 / 43) / stats.chi2.ppf(0.01, 42))
    exact = tolerance.two_sided_factor(43, coverage=0.90, confidence=0.99)
    assert howe == pytest.approx(2.2173159, abs=1e-6)
    assert exact == pytest.approx(howe, rel=3e-3)


def test_handbook_bounds_from_values_with_that_mean_and_sd():
    values = _values_with(n=43, mean=97.07, sd=0.0268)
    upper = tolerance.upper_bound(values, coverage=0.90, confidence=0.99)
    lower = tolerance.lower_bound(values, coverage=0.90, confidence=0.99)
    assert upper.bound == pytest.approx(97.12026, abs=5e-5)  # the page's limit, by its approximate factor
    assert lower.bound == pytest.approx(97.01974, abs=5e-5)
    assert (lower.mean, lower.sd, lower.n) == (pytest.approx(97.07), pytest.approx(0.0268), 43)


# --- Other integrals for the same probability


def one_sided_confidence(factor, n, coverage):
    """P(mean + k sd reaches the quantile), averaged over the mean; the code asks the non-central t."""
    sure_beyond = min(special.ndtri(coverage) * np.sqrt(n), 10)  # the mean alone reaches the quantile
    z, weight = _legendre(-10, sure_beyond, pieces=40)
    reach = (special.ndtri(coverage) - z / np.sqrt(n)) / factor
    enough = special.gammaincc((n - 1) / 2, (n - 1) / 2 * reach**2)
    return weight @ (np.exp(-z * z / 2) / np.sqrt(2 * np.pi) * enough) + special.ndtr(-sure_beyond)


def two_sided_confidence(factor, n, coverage):
    """P(mean - k sd to mean + k sd holds the coverage), averaged over the sd, not over the mean."""

    def mean_near_enough(share):
        half = factor * np.sqrt(stats.chi2.isf(1 - share, n - 1) / (n - 1))

        def lacking(x):
            return special.ndtr(x + half) - special.ndtr(x - half) - coverage

        far = half + 10
        return 0.0 if lacking(0) <= 0 else 2 * special.ndtr(np.sqrt(n) * optimize.brentq(lacking, 0, far)) - 1

    shortest = special.ndtri((1 + coverage) / 2) / factor
    never = stats.chi2.cdf((n - 1) * shortest**2, n - 1)

    def integrand(v):  # u = never + (1 - never) v**2 takes out the square-root start
        return mean_near_enough(never + (1 - never) * v * v) * 2 * v

    return (1 - never) * integrate.quad(integrand, 0, 1, epsabs=1e-10, epsrel=1e-10, limit=200)[0]


@pytest.mark.parametrize("n", [2, 3, 5, 10, 30, 59, 100, 300, 1000])
@pytest.mark.parametrize(("coverage", "confidence"), CLAIMS)
def test_one_sided_factor_keeps_its_confidence_by_another_integral(n, coverage, confidence):
    factor = tolerance.one_sided_factor(n, coverage=coverage, confidence=confidence)
    assert one_sided_confidence(factor, n, coverage) == pytest.approx(confidence, abs=1e-11)


@pytest.mark.parametrize("n", [2, 3, 10, 100, 1000])
@pytest.mark.parametrize(("coverage", "confidence"), CLAIMS[1:4])
def test_two_sided_factor_keeps_its_confidence_by_another_integral(n, coverage, confidence):
    factor = tolerance.two_sided_factor(n, coverage=coverage, confidence=confidence)
    assert two_sided_confidence(factor, n, coverage) == pytest.approx(confidence, abs=1e-8)


def test_the_other_integrals_see_a_wrong_factor():
    factor = tolerance.one_sided_factor(10, coverage=0.95, confidence=0.95)
    assert one_sided_confidence(factor * (1 + 1e-9), 10, 0.95) != pytest.approx(0.95, abs=1e-11)
    factor = tolerance.two_sided_factor(10, coverage=0.95, confidence=0.95)
    assert two_sided_confidence(factor * (1 + 1e-6), 10, 0.95) != pytest.approx(0.95, abs=1e-8)


def _legendre(low, high, *, pieces):
    points, weights = np.polynomial.legendre.leggauss(40)
    edges = np.linspace(low, high, pieces + 1)
    half = (edges[1] - edges[0]) / 2
    middles = (edges[1:] + edges[:-1]) / 2
    return (middles[:, None] + half * points).ravel(), np.tile(half * weights, pieces)


def _values_with(*, n, mean, sd):
    shape = np.arange(n) - (n - 1) / 2
    return mean + sd * shape / shape.std(ddof=1)
