import dataclasses
import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from labrecords.stats.precision import cochran, critical_cochran, critical_h, critical_k, interlaboratory

SAMPLES = 10_000
SHAPES = st.tuples(st.integers(3, 9), st.integers(2, 6), st.integers(0, 10_000))
CELLS = [[1.42, 1.51, 1.38], [1.47, 1.55, 1.44], [1.60, 1.58, 1.67], [1.45, 1.40, 1.49]]


def cells_of(shape):
    p, n, seed = shape
    rng = np.random.default_rng(seed)
    return rng.normal(10, 1, p)[:, None] + rng.normal(0, 0.5, (p, n))


# --- interlaboratory


@given(shape=SHAPES)
def test_against_the_formulae_written_out(shape):
    cells = cells_of(shape)
    p, n = cells.shape
    found = interlaboratory(cells)
    means, sds = cells.mean(axis=1), cells.std(axis=1, ddof=1)
    s_xbar, s_r = means.std(ddof=1), math.sqrt(np.mean(sds**2))
    expected = {
        "mean": means.mean(),
        "s_xbar": s_xbar,
        "s_r": s_r,
        "s_R": max(s_r, math.sqrt(s_xbar**2 + s_r**2 * (n - 1) / n)),
        "s_L": math.sqrt(max(0.0, s_xbar**2 - s_r**2 / n)),
        "h": tuple((means - means.mean()) / s_xbar),
        "k": tuple(sds / s_r),
    }
    for name, value in expected.items():
        assert getattr(found, name) == pytest.approx(value, rel=1e-9, abs=1e-9), name
    assert (found.r_limit, found.R_limit) == (2.8 * found.s_r, 2.8 * found.s_R)
    assert (found.h_critical, found.k_critical) == (critical_h(p), critical_k(p, n))
    assert (found.replicates, found.alpha) == (n, 0.005)


@given(shape=SHAPES, scale=st.sampled_from([1e-3, 4.0, 1e6]), shift=st.integers(-50, 50))
def test_location_and_scale(shape, scale, shift):
    cells = cells_of(shape)
    plain, moved = interlaboratory(cells), interlaboratory(scale * (cells + shift))
    for name in ("s_xbar", "s_r", "s_R", "r_limit", "R_limit"):
        assert getattr(moved, name) == pytest.approx(scale * getattr(plain, name), rel=1e-8), name
    assert moved.h == pytest.approx(plain.h, abs=1e-8)
    assert moved.k == pytest.approx(plain.k, rel=1e-8)


@given(shape=SHAPES)
def test_the_order_of_laboratories_and_replicates_changes_nothing(shape):
    cells = cells_of(shape)
    plain, turned = interlaboratory(cells), interlaboratory(cells[::-1, ::-1])
    assert turned.s_R == pytest.approx(plain.s_R)
    assert turned.h == pytest.approx(plain.h[::-1], abs=1e-9)


def test_all_ways_of_giving_cells_are_one():
    names = ["Ann", "Bo", "Cy", "Di"]
    plain = interlaboratory(CELLS)
    frame = interlaboratory(pd.DataFrame(CELLS, index=names))
    mapping = interlaboratory(dict(zip(names, CELLS, strict=True)))
    assert plain.laboratories == (1, 2, 3, 4)
    assert frame == mapping == dataclasses.replace(plain, laboratories=tuple(names))


def test_reproducibility_is_never_below_repeatability():
    found = interlaboratory([[1, 5, 3.1], [2, 4, 3.0], [5, 1, 3.2]])
    assert found.s_R == found.s_r
    assert found.s_L == 0


def test_who_is_beyond():
    cells = np.tile([1.0, 1.1, 1.2], (8, 1)) + np.linspace(0, 0.01, 8)[:, None]
    cells[3] += 2
    cells[6] = [0.0, 1.1, 2.2]
    found = interlaboratory(cells)
    assert (found.h_beyond, found.k_beyond) == ((3,), (6,))
    low = interlaboratory(-cells)
    assert low.h_beyond == (3,)  # either sign


def test_shares_beyond_are_what_alpha_says():
    """Of laboratories that are all alike, by simulation; the wrong alpha fails the same check."""
    p, n, alpha = 6, 3, 0.05
    cells = np.random.default_rng(1).normal(size=(SAMPLES, p, n))
    means, sds = cells.mean(axis=2), cells.std(axis=2, ddof=1)
    h = (means - means.mean(axis=1)[:, None]) / means.std(axis=1, ddof=1)[:, None]
    k = sds / np.sqrt(np.mean(sds**2, axis=1))[:, None]

    def beyond(alpha):
        return np.mean(np.abs(h) > critical_h(p, alpha=alpha)), np.mean(k > critical_k(p, n, alpha=alpha))

    assert beyond(alpha) == pytest.approx((alpha, alpha), abs=0.004)
    assert beyond(1.3 * alpha) != pytest.approx((alpha, alpha), abs=0.004)


@pytest.mark.parametrize(
    ("cells", "arguments", "sentence"),
    [
        (CELLS[:2], {}, r"cells must hold at least 3 laboratories; got 2\."),
        (7, {}, r"cells must be laboratories by replicates; got 7\."),
        ([[1], [2], [3]], {}, r"laboratory 1 must hold at least 2 numbers; got 1\."),
        ([1, 2, 3], {}, r"laboratory 1 must be one-dimensional; got 0 dimensions\."),
        (
            {"A": [1, 2, 3], "B": [1, 2], "C": [1, 2, 3]},
            {},
            r"cells must be balanced, with equally many values of each laboratory; got 3, 2, 3\.",
        ),
        (pd.DataFrame([[1, 2], [3, math.nan], [5, 6]]), {}, r"laboratory 1 must be finite numbers"),
        ([[1, 2], [2, 1], [1.5, 1.5]], {}, r"the laboratories' means must not all be equal; got 3 times 1\.5\."),
        ([[1, 1], [2, 2], [3, 3]], {}, r"cells must differ within at least one laboratory; got equal values in each\."),
        (CELLS, {"alpha": 0}, r"alpha must be between 0 and 1, both left out; got 0\."),
    ],
)
def test_interlaboratory_refuses(cells, arguments, sentence):
    with pytest.raises(ValueError, match=sentence):
        interlaboratory(cells, **arguments)


# --- Critical values


@given(p=st.integers(3, 60), n=st.integers(2, 20), alpha=st.floats(1e-12, 0.4))
def test_critical_values_rise_as_alpha_falls_and_keep_their_limits(p, n, alpha):
    # h cannot exceed (p - 1) / sqrt(p), k cannot exceed sqrt(p), C cannot exceed 1
    assert 0 < critical_h(p, alpha=alpha) <= critical_h(p, alpha=alpha / 2) <= (p - 1) / math.sqrt(p)
    assert 0 < critical_k(p, n, alpha=alpha) <= critical_k(p, n, alpha=alpha / 2) <= math.sqrt(p)
    assert 0 < critical_cochran(p, n, alpha=alpha) <= critical_cochran(p, n, alpha=alpha / 2) <= 1
    assert critical_cochran(p, n, alpha=alpha) * p == pytest.approx(critical_k(p, n, alpha=alpha / p) ** 2)


@pytest.mark.parametrize("alpha", [1e-300, 1e-15, 1 - 1e-15])
def test_extreme_alpha_gives_numbers(alpha):
    for value in (critical_h(3, alpha=alpha), critical_k(2, 2, alpha=alpha), critical_cochran(500, 9, alpha=alpha)):
        assert math.isfinite(value)


@pytest.mark.parametrize(
    ("function", "arguments", "sentence"),
    [
        (critical_h, (2,), r"p must be at least 3; got 2\."),
        (critical_h, (3.0,), r"p must be a whole number; got 3\.0\."),
        (critical_k, (1, 2), r"p must be at least 2; got 1\."),
        (critical_k, (2, 1), r"n must be at least 2; got 1\."),
        (critical_cochran, (1, 2), r"p must be at least 2; got 1\."),
        (critical_cochran, (2, 1), r"n must be at least 2; got 1\."),
    ],
)
def test_critical_values_refuse(function, arguments, sentence):
    with pytest.raises(ValueError, match=sentence):
        function(*arguments)
    with pytest.raises(ValueError, match=r"alpha must be between 0 and 1, both left out; got 1\.5\."):
        function(8, *arguments[1:2] and (3,), alpha=1.5)


# --- Cochran


@given(seed=st.integers(0, 10_000), n=st.integers(2, 6), p=st.integers(2, 9))
def test_cochran_decides_by_its_p(seed, n, p):
    sds = np.random.default_rng(seed).chisquare(n - 1, p) ** 0.5
    found = cochran(sds, n=n, alpha=0.1)
    assert found.statistic == pytest.approx(sds.max() ** 2 / np.sum(sds**2))
    assert found.place == int(sds.argmax())
    assert found.beyond == (found.p_value < 0.1)
    assert cochran(1000 * sds, n=n).p_value == pytest.approx(found.p_value)


def test_cochran_is_beyond_as_seldom_as_it_says():
    p, n, alpha = 5, 3, 0.05
    sds = np.random.default_rng(2).normal(size=(SAMPLES, p, n)).std(axis=2, ddof=1)
    statistic = np.max(sds**2, axis=1) / np.sum(sds**2, axis=1)
    assert np.mean(statistic > critical_cochran(p, n, alpha=alpha)) == pytest.approx(alpha, abs=0.007)
    assert np.mean(statistic > critical_cochran(p, n, alpha=2 * alpha)) > alpha + 0.03


@pytest.mark.parametrize(
    ("sds", "arguments", "sentence"),
    [
        ([1], {"n": 3}, r"cell_sds must hold at least 2 numbers; got 1\."),
        ([1, -1], {"n": 3}, r"cell_sds must be 0 or more; got -1\.0\."),
        ([0, 0], {"n": 3}, r"cell_sds must not all be 0; got no other\."),
        ([1, 2], {"n": 1}, r"n must be at least 2; got 1\."),
        ([1, 2], {"n": 3, "alpha": 1}, r"alpha must be between 0 and 1"),
    ],
)
def test_cochran_refuses(sds, arguments, sentence):
    with pytest.raises(ValueError, match=sentence):
        cochran(sds, **arguments)
