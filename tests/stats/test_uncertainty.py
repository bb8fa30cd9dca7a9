import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from labrecords.stats.uncertainty import Contribution, combine

SAMPLES = 10_000
SIZES = st.lists(st.tuples(st.floats(0.01, 10), st.sampled_from([1.0, 3.5, 12.0, math.inf])), min_size=1, max_size=6)


def lines_of(sizes):
    return [Contribution(f"x{place}", "normal", u=u, df=df) for place, (u, df) in enumerate(sizes)]


# --- Contribution


@pytest.mark.parametrize(
    ("distribution", "distributed"),
    [
        ("rectangular", stats.uniform(-1, 2)),
        ("triangular", stats.triang(0.5, -1, 2)),
        ("u-shaped", stats.arcsine(-1, 2)),
        ("arcsine", stats.arcsine(-1, 2)),
    ],
)
def test_divisors_are_the_standard_deviations_of_the_distributions(distribution, distributed):
    assert Contribution("x", distribution, half_width=3).standard == pytest.approx(3 * distributed.std(), rel=1e-12)


def test_ways_to_give_a_normal():
    assert Contribution("x", "normal", u=0.4).standard == 0.4
    assert Contribution("x", "normal", half_width=1, divisor=2.5).standard == 0.4
    assert Contribution("x", "rectangular", u=0.4, df=12).degrees == 12
    assert Contribution("x", "normal", u=0).standard == 0
    assert Contribution("x", "rectangular", half_width=0).standard == 0


def test_readings():
    readings = [1.42, 1.51, 1.38, 1.47, 1.55]
    found = Contribution("x", "values", values=readings)
    assert found.standard == pytest.approx(stats.sem(readings), rel=1e-12)
    assert found.degrees == 4
    readings.append(99.0)  # the caller's list is not the contribution's
    assert found.values == (1.42, 1.51, 1.38, 1.47, 1.55)
    assert Contribution("x", "values", values=np.array([1.0, 2.0])).values == (1.0, 2.0)
    with pytest.raises(dataclasses.FrozenInstanceError):
        found.name = "y"


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"name": " ", "u": 1}, r"name must be a text that is not empty; got ' '\."),
        ({"name": 3, "u": 1}, r"name must be a text that is not empty; got 3\."),
        ({"distribution": "flat", "u": 1}, r"distribution must be one of normal, rectangular, .*; got 'flat'\."),
        ({"u": 1, "sensitivity": math.inf}, r"sensitivity must be a finite number; got inf\."),
        ({"u": 1, "df": 0.5}, r"df must be 1 or more; got 0\.5\."),
        ({"u": 1, "df": math.nan}, r"df must be a finite number; got nan\."),
        ({}, r"x: half_width or u alone must be given for normal; got neither\."),
        ({"u": 1, "half_width": 1}, r"x: half_width or u alone must be given for normal; got half_width and u\."),
        ({"values": [1, 2]}, r"x: half_width or u alone must be given for normal; got values\."),
        ({"distribution": "values", "u": 1}, r"x: values alone must be given for values; got u\."),
        ({"distribution": "values", "values": [1]}, r"values must hold at least 2 numbers; got 1\."),
        ({"distribution": "values", "values": []}, r"values must hold at least 2 numbers; got 0\."),
        ({"distribution": "values", "values": [1, 2], "df": 4}, r"df must be left out where values are given; got 4\."),
        ({"u": -1}, r"u must be 0 or more; got -1\."),
        ({"distribution": "rectangular", "half_width": -1}, r"half_width must be 0 or more; got -1\."),
        ({"half_width": 1}, r"divisor must be given with the half_width of a normal; got None\."),
        ({"u": 1, "divisor": 2}, r"divisor must be given only with the half_width of a normal; got 2\."),
        ({"half_width": 1, "divisor": 0}, r"divisor must be above 0; got 0\."),
    ],
)
def test_a_contribution_refuses(fields, sentence):
    with pytest.raises(ValueError, match=sentence):
        Contribution(**({"name": "x", "distribution": "normal"} | fields))


# --- combine


@given(sizes=SIZES)
def test_against_the_formulae_written_out(sizes):
    found = combine(lines_of(sizes))
    u, df = np.array(sizes).T
    combined = math.sqrt(np.sum(u**2))
    assert found.combined == pytest.approx(combined, rel=1e-12)
    assert [line.share for line in found.contributions] == pytest.approx(u**2 / combined**2)
    assert [line.contribution for line in found.contributions] == pytest.approx(u)
    if np.isfinite(df).any():
        assert found.effective_df == pytest.approx(combined**4 / np.sum(u**4 / df), rel=1e-12)
        assert df.min() * (1 - 1e-12) <= found.effective_df
        assert found.factor == pytest.approx(stats.t.ppf((1 + 0.9545) / 2, found.effective_df), rel=1e-9)
    else:
        assert found.effective_df == math.inf
        assert found.factor == found.factor_truncated == pytest.approx(stats.norm.ppf((1 + 0.9545) / 2))
    assert found.expanded == found.factor * found.combined <= found.expanded_truncated * (1 + 1e-12)


@given(sizes=SIZES, scale=st.sampled_from([1e-60, 1e-3, 1e60]))
def test_scale_and_order(sizes, scale):
    plain = combine(lines_of(sizes))
    scaled = combine([dataclasses.replace(line, sensitivity=-scale) for line in lines_of(sizes)][::-1])
    assert scaled.combined == pytest.approx(scale * plain.combined, rel=1e-12)
    assert scaled.effective_df == pytest.approx(plain.effective_df, rel=1e-12)
    assert [line.name for line in scaled.contributions] == [line.name for line in plain.contributions][::-1]


def test_the_factor_is_two_by_default_and_grows_with_coverage():
    line = [Contribution("x", "normal", u=1, df=9)]
    assert combine([Contribution("x", "normal", u=1)]).factor == pytest.approx(2, abs=3e-6)
    assert combine(line, coverage=0.99).factor > combine(line, coverage=0.95).factor


def test_degrees_of_freedom_are_cut_not_rounded():
    found = combine([Contribution("x", "normal", u=1, df=9.9)])
    assert found.factor_truncated == pytest.approx(stats.t.ppf((1 + 0.9545) / 2, 9))
    whole = combine([Contribution(name, "normal", u=0.1, df=8) for name in "ab"])
    assert whole.effective_df == pytest.approx(16)
    assert whole.factor_truncated == pytest.approx(stats.t.ppf((1 + 0.9545) / 2, 16))  # 16 is not cut to 15


def test_correlated_contributions():
    lines = [Contribution("a", "normal", u=3, sensitivity=2), Contribution("b", "normal", u=4, sensitivity=-1)]
    found = combine(lines, correlations={("b", "a"): 0.5})
    assert found.combined == pytest.approx(math.sqrt(36 + 16 - 2 * 0.5 * 6 * 4))
    assert sum(line.share for line in found.contributions) == pytest.approx(1)
    assert found.effective_df == math.inf
    assert combine(lines, correlations={("a", "b"): 0}).combined == pytest.approx(math.sqrt(52))


def test_correlation_leaves_no_effective_degrees_of_freedom():
    lines = [Contribution("a", "normal", u=3, df=5), Contribution("b", "normal", u=4), Contribution("c", "normal", u=1)]
    tied = combine(lines, correlations={("a", "b"): 0.2})
    assert tied.effective_df is None
    assert tied.factor == tied.factor_truncated == pytest.approx(stats.t.ppf((1 + 0.9545) / 2, 5))
    apart = combine(lines, correlations={("b", "c"): 0.2})  # of infinite degrees of freedom both
    assert apart.effective_df == pytest.approx(apart.combined**4 / (3**4 / 5))


def test_what_contributes_nothing_ties_nothing():
    lines = [Contribution("a", "normal", u=3, df=5), Contribution("b", "normal", u=4, df=1, sensitivity=0)]
    assert combine(lines, correlations={("a", "b"): 0.9}).effective_df == pytest.approx(5)


def test_readings_taken_together_are_the_standard_error_of_their_sum():
    """GUM H.2's second way, exact for a linear result."""
    a, b = np.random.default_rng(4).normal(size=(2, 6))
    lines = [
        Contribution("a", "values", values=a, sensitivity=2),
        Contribution("b", "values", values=b, sensitivity=-3),
    ]
    found = combine(lines, correlations={("a", "b"): float(np.corrcoef(a, b)[0, 1])}, coverage=0.95)
    assert found.combined == pytest.approx(stats.sem(2 * a - 3 * b), rel=1e-9)
    assert found.factor == pytest.approx(stats.t.ppf(0.975, 5))


def test_the_expanded_uncertainty_covers_what_it_promises():
    """Two sets of readings and a known normal error, by simulation; a factor of 1.6 fails the same check."""
    rng, n, m = np.random.default_rng(3), 6, 9
    first, second = rng.normal(0, 1, (SAMPLES, n)), rng.normal(0, 0.8, (SAMPLES, m))
    error = first.mean(axis=1) + second.mean(axis=1) + rng.normal(0, 0.3, SAMPLES)
    held = wrong = 0
    for a, b, off in zip(first[:4000], second[:4000], error[:4000], strict=True):
        lines = [
            Contribution("first", "values", values=a),
            Contribution("second", "values", values=b),
            Contribution("known", "normal", u=0.3),
        ]
        found = combine(lines, coverage=0.95)
        held += abs(off) <= found.expanded
        wrong += abs(off) <= 1.6 * found.combined
    assert held / 4000 == pytest.approx(0.95, abs=0.014)
    assert wrong / 4000 != pytest.approx(0.95, abs=0.014)


@pytest.mark.parametrize("coverage", [1e-12, 1 - 1e-15])
@pytest.mark.parametrize("df", [1.0, 1e9, math.inf])
def test_extreme_coverage_gives_numbers(coverage, df):
    assert math.isfinite(combine([Contribution("x", "normal", u=1, df=df)], coverage=coverage).expanded)


PAIR = [Contribution("a", "normal", u=1), Contribution("b", "normal", u=1), Contribution("c", "normal", u=1)]


@pytest.mark.parametrize(
    ("lines", "arguments", "sentence"),
    [
        ([], {}, r"contributions must hold at least 1 contribution; got 0\."),
        (PAIR[:1] * 2, {}, r"contributions must have different names; got 'a' 2 times\."),
        ([Contribution("a", "normal", u=0)], {}, r"contributions must have a largest between .*; got 0\.0\."),
        ([Contribution("a", "normal", u=1e200, sensitivity=1e200)], {}, r"must have a largest between .*; got inf\."),
        (PAIR, {"coverage": 1}, r"coverage must be between 0 and 1"),
        (PAIR, {"correlations": {("a", "b"): 1.1}}, r"correlation of a and b must be between -1 and 1; got 1\.1\."),
        (PAIR, {"correlations": {("a", "b"): math.nan}}, r"correlation of a and b must be a finite number; got nan\."),
        (PAIR, {"correlations": {("a", "d"): 0}}, r"correlations must name contributions; got 'd'\."),
        (PAIR, {"correlations": {("a", "a"): 1}}, r"correlations must be keyed by pairs of different names"),
        (PAIR, {"correlations": {"ab": 1}}, r"correlations must be keyed by pairs of different names; got 'ab'\."),
        (PAIR, {"correlations": {("a", "b", "c"): 1}}, r"correlations must be keyed by pairs of different names"),
        (
            PAIR,
            {"correlations": {("a", "b"): 0.1, ("b", "a"): 0.1}},
            r"correlations must name each pair once; got \('b', 'a'\) both ways round\.",
        ),
        (
            PAIR,
            {"correlations": {("a", "b"): 0.9, ("b", "c"): 0.9, ("a", "c"): -0.9}},
            r"correlations must form a positive semidefinite matrix; got an eigenvalue of -0\.8\.",
        ),
        (PAIR[:2], {"correlations": {("a", "b"): -1}}, r"contributions must not cancel each other; got a combined"),
    ],
)
def test_combine_refuses(lines, arguments, sentence):
    with pytest.raises(ValueError, match=sentence):
        combine(lines, **arguments)
