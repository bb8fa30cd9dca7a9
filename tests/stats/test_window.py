import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from labrecords.stats import comparisons, tolerance, window
from labrecords.stats.summary import summarise

CLAIM = {"coverage": 0.9, "confidence": 0.95}
SETTINGS = {
    "low": [1.31, 1.36, 1.33, 1.29, 1.38],
    "nominal": [1.42, 1.51, 1.38, 1.46],
    "high": [1.40, 1.44, 1.47, 1.52, 1.39, 1.58],
}
X = [120, 120, 126, 133, 133, 139.5, 139.5, 146]
Y = [1.08, 1.17, 1.26, 1.41, 1.37, 1.49, 1.53, 1.51]
POINTS = st.lists(
    st.tuples(st.integers(-20, 20), st.integers(-800, 800).map(lambda value: value / 64)), min_size=5, max_size=20
).filter(lambda points: len({x for x, _ in points}) >= 3 and len({y for _, y in points}) >= 2)


def of_settings(**changes):
    return window.process_window(SETTINGS, **({"reference": "nominal"} | CLAIM | changes))


def of_curve(x=X, y=Y, **changes):
    return window.strength_against_setting(x, y, **(CLAIM | changes))


# --- process_window


def test_each_setting_has_its_summary_and_two_bounds():
    found = of_settings()
    df = sum(map(len, SETTINGS.values())) - 3
    for setting, (name, values) in zip(found.settings, SETTINGS.items(), strict=True):
        assert setting.name == name
        assert setting.summary == summarise(values, confidence=0.95)
        own = tolerance.lower_bound(values, **CLAIM)
        assert (setting.own_bound, setting.own_factor) == (own.bound, own.factor)
        factor = stats.nct.ppf(0.95, df, stats.norm.ppf(0.9) * np.sqrt(len(values))) / np.sqrt(len(values))
        assert setting.pooled_factor == pytest.approx(factor, rel=1e-9)
        assert setting.pooled_bound == pytest.approx(np.mean(values) - factor * found.pooled_sd, rel=1e-9)
    assert found.pooled_sd == found.anova.residual_sd
    assert (found.coverage, found.confidence) == (0.9, 0.95)


def test_the_comparisons_are_those_of_their_module():
    found = of_settings()
    assert found.anova == comparisons.one_way(*SETTINGS.values())
    assert found.brown_forsythe == comparisons.brown_forsythe(*SETTINGS.values())
    assert found.many_to_one == comparisons.many_to_one(SETTINGS, reference="nominal")


def test_without_a_limit_nothing_is_judged():
    found = of_settings()
    assert (found.limit, found.clears_own, found.clears_pooled) == (None, None, None)
    assert {(setting.clears_own, setting.clears_pooled) for setting in found.settings} == {(None, None)}


def test_a_bound_clears_a_limit_that_it_reaches():
    for bound, clears in (("own_bound", "clears_own"), ("pooled_bound", "clears_pooled")):
        lowest = min(getattr(setting, bound) for setting in of_settings().settings)
        assert getattr(of_settings(limit=lowest), clears) is True
        found = of_settings(limit=np.nextafter(lowest, 9))
        assert getattr(found, clears) is False
        assert [getattr(setting, clears) for setting in found.settings].count(False) == 1


def test_spreads_that_cannot_be_compared_are_not():
    assert window.process_window({"a": [1, 2], "b": [2, 4]}, reference="a", **CLAIM).brown_forsythe is None


@pytest.mark.parametrize(
    ("settings", "changes", "sentence"),
    [
        ([[1, 2], [3, 4]], {}, r"settings must be a mapping of names to values; got list\."),
        ({"nominal": [1, 2]}, {}, r"settings must be at least 2; got 1\."),
        ({"nominal": [1, 2], "low": [3]}, {}, r"settings\['low'\] must hold at least 2 numbers; got 1\."),
        ({"nominal": [1, 2], "low": [3, float("nan")]}, {}, r"settings\['low'\] must be finite numbers"),
        ({"nominal": [1, 1], "low": [3, 3]}, {}, r"must not each hold equal values"),
        (SETTINGS, {"reference": "middle"}, r"reference must be one of low, nominal, high; got 'middle'\."),
        (SETTINGS, {"limit": float("inf")}, r"limit must be a finite number; got inf\."),
        (SETTINGS, {"coverage": 1}, r"coverage must be between 0 and 1"),
        (SETTINGS, {"confidence": 95}, r"confidence must be between 0 and 1"),
    ],
)
def test_process_window_refuses(settings, changes, sentence):
    with pytest.raises(ValueError, match=sentence):
        window.process_window(settings, **({"reference": "nominal"} | CLAIM | changes))


# --- strength_against_setting


@given(points=POINTS, degree=st.sampled_from([1, 2]))
def test_the_fit_against_numpy(points, degree):
    x, y = zip(*points, strict=True)
    found = of_curve(x, y, degree=degree)
    design = np.vander(np.array(x, dtype=float), degree + 1, increasing=True)
    coefficients = np.linalg.lstsq(design, y, rcond=None)[0]
    assert found.coefficients == pytest.approx(tuple(coefficients), rel=1e-6, abs=1e-7)
    assert found.df == len(x) - degree - 1
    squares = np.sum((np.array(y) - design @ coefficients) ** 2)
    assert found.residual_sd == pytest.approx(np.sqrt(squares / found.df), rel=1e-6, abs=1e-7)
    errors = found.residual_sd * np.sqrt(np.diag(np.linalg.inv(design.T @ design)))
    assert found.standard_errors == pytest.approx(tuple(errors), rel=1e-6)
    total = np.sum((np.array(y) - np.mean(y)) ** 2)
    assert found.r_squared == pytest.approx(1 - squares / total, abs=1e-9)
    assert [point.x for point in found.band] == sorted(set(x))


def test_the_line_against_scipy():
    found, expected = of_curve(), stats.linregress(X, Y)
    assert found.coefficients == pytest.approx((expected.intercept, expected.slope), rel=1e-12)
    assert found.standard_errors == pytest.approx((expected.intercept_stderr, expected.stderr), rel=1e-10)
    assert found.r_squared == pytest.approx(expected.rvalue**2, rel=1e-12)


def test_the_band_of_a_level_line_is_that_of_a_mean():
    """At the mean of x the leverage is 1/n: limits and bounds are those of n values, but for one degree of freedom."""
    x, y = [-2, -1, 0, 1, 2], [1.5, 1.2, 1.1, 1.3, 1.4]
    found = of_curve(x, y, at=[0])
    (point,) = found.band
    assert point.fitted == pytest.approx(np.mean(y))
    half = stats.t.ppf(0.975, 3) * found.residual_sd / np.sqrt(5)
    assert (point.mean_low, point.mean_high) == pytest.approx((point.fitted - half, point.fitted + half))
    factor = tolerance.one_sided_factor(5, df=3, **CLAIM)
    assert point.tolerance_low == pytest.approx(point.fitted - factor * found.residual_sd, rel=1e-10)
    assert point.tolerance_high == pytest.approx(point.fitted + factor * found.residual_sd, rel=1e-10)


def test_the_band_is_widest_at_the_ends():
    width = [point.mean_high - point.mean_low for point in of_curve(at=[120, 126, 132, 139, 146]).band]
    assert width[0] > width[1] > width[2] < width[3] < width[4]
    below = [point.fitted - point.tolerance_low for point in of_curve(at=[120, 132, 146]).band]
    assert below[0] > below[1] < below[2]


@given(points=POINTS, degree=st.sampled_from([1, 2]), scale=st.sampled_from([0.25, 8.0]), shift=st.integers(-999, 999))
def test_location_and_scale(points, degree, scale, shift):
    x, y = (np.array(values, dtype=float) for values in zip(*points, strict=True))
    plain = of_curve(x, y, degree=degree)
    moved = of_curve(scale * x + shift, scale * y + shift, degree=degree)
    for here, there in zip(plain.band, moved.band, strict=True):
        for name in ("x", "fitted", "mean_low", "mean_high", "tolerance_low", "tolerance_high"):
            expected = scale * getattr(here, name) + shift
            assert getattr(there, name) == pytest.approx(expected, rel=1e-9, abs=1e-9), name
    assert moved.lack_of_fit == plain.lack_of_fit
    assert moved.r_squared == plain.r_squared


@given(points=POINTS, seed=st.integers(0, 1000))
def test_the_order_of_the_points_changes_nothing(points, seed):
    shuffled = np.random.default_rng(seed).permutation(np.array(points))
    x, y = zip(*points, strict=True)
    assert of_curve(shuffled[:, 0], shuffled[:, 1]) == of_curve(x, y)


@given(points=POINTS)
def test_bounds_move_out_with_the_claim(points):
    x, y = zip(*points, strict=True)
    plain = of_curve(x, y)
    for more in ({"coverage": 0.99}, {"confidence": 0.99}):
        for near, far in zip(plain.band, of_curve(x, y, **more).band, strict=True):
            assert far.tolerance_low <= near.tolerance_low
            assert far.tolerance_high >= near.tolerance_high


def test_lack_of_fit_is_the_analysis_of_variance_of_the_means():
    found = of_curve().lack_of_fit
    groups = [[y for x, y in zip(X, Y, strict=True) if x == place] for place in sorted(set(X))]
    pure = sum(np.var(group) * len(group) for group in groups)
    squares = of_curve().residual_sd ** 2 * of_curve().df
    assert (found.df_lack, found.df_pure) == (3, 3)
    assert found.f_statistic == pytest.approx((squares - pure) / 3 / (pure / 3), rel=1e-9)
    assert found.p_value == pytest.approx(stats.f.sf(found.f_statistic, 3, 3), rel=1e-12)


@pytest.mark.parametrize(
    ("x", "y"),
    [
        ([1, 2, 3, 4], [1, 2, 2, 4]),  # no replicates
        ([1, 1, 2, 2, 3], [1, 1, 3, 3, 4]),  # replicates that do not differ
        ([1, 1, 2, 2], [1, 2, 3, 5]),  # a line through two means
    ],
)
def test_no_lack_of_fit_where_there_is_nothing_to_compare(x, y):
    assert of_curve(x, y).lack_of_fit is None


def test_points_on_a_line_leave_no_residual():
    found = of_curve([1, 2, 3, 5], [2, 4, 6, 10])
    assert (found.coefficients, found.residual_sd, found.r_squared) == ((0, 2), 0, 1)
    assert {point.tolerance_low - point.fitted for point in found.band} == {0}


def test_a_hard_setting_keeps_its_digits():
    """Seconds since an epoch as the setting: the parabola's normal equations are far beyond doubles."""
    far = of_curve([x + 1.7e9 for x in X], Y, degree=2)
    near = of_curve(degree=2)
    assert far.residual_sd == near.residual_sd
    assert far.coefficients[2] == near.coefficients[2]
    assert [point.fitted for point in far.band] == pytest.approx([point.fitted for point in near.band], rel=1e-14)


@pytest.mark.parametrize("scale", [1e-90, 1e90])
def test_very_small_and_very_large_units(scale):
    found, plain = of_curve([scale * x for x in X], [scale * y for y in Y], degree=2), of_curve(degree=2)
    assert found.coefficients[1] == pytest.approx(plain.coefficients[1], rel=1e-9)
    assert found.residual_sd == pytest.approx(scale * plain.residual_sd, rel=1e-9)
    assert found.lack_of_fit.p_value == pytest.approx(plain.lack_of_fit.p_value, rel=1e-9)


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"x": [1, 2]}, r"x and y must be equally long; got 2 and 8\."),
        ({"x": [1] * 8}, r"x must not all be equal; got 8 times 1\.0\."),
        ({"y": [1] * 8}, r"y must not all be equal; got 8 times 1\.0\."),
        ({"y": [float("nan")] * 8}, r"y must be finite numbers"),
        ({"x": [1, 2], "y": [1, 2]}, r"x and y must hold at least 3 numbers for degree 1; got 2\."),
        (
            {"x": [1, 1, 2, 2], "y": Y[:4], "degree": 2},
            r"x must hold at least 3 different numbers for degree 2; got 2\.",
        ),
        ({"degree": 3}, r"degree must be 1 or 2; got 3\."),
        ({"degree": 0}, r"degree must be 1 or 2; got 0\."),
        ({"degree": 1.5}, r"degree must be a whole number; got 1\.5\."),
        ({"at": [119.9]}, r"at must lie within the range of x, 120\.0 to 146\.0; got 119\.9\."),
        ({"at": [130, 146.001]}, r"at must lie within the range of x, .*; got 146\.001\."),
        ({"at": []}, r"at must hold at least 1 number; got 0\."),
        ({"at": 130}, r"at must be one-dimensional; got 0 dimensions\."),
        ({"coverage": 0}, r"coverage must be between 0 and 1"),
        ({"confidence": 1}, r"confidence must be between 0 and 1"),
        ({"x": [0, 0, 1e-300, 1e-99], "y": [1e99, 2e99, 1, 5], "degree": 2}, r"slopes exceed 1e308"),
    ],
)
def test_strength_against_setting_refuses(changes, sentence):
    with pytest.raises(ValueError, match=sentence):
        of_curve(**changes)


def test_a_band_that_cannot_be_computed_is_refused(monkeypatch):
    monkeypatch.setattr(stats.nct, "ppf", lambda *_: float("nan"))
    with pytest.raises(
        ValueError, match=r"coverage and confidence must lie further inside 0 and 1; got 0\.9 and 0\.95"
    ):
        of_curve()


def test_results_are_plain_numbers_and_cannot_be_changed():
    found = of_curve()
    for point in found.band:
        assert all(type(value) is float for value in dataclasses.astuple(point))
    with pytest.raises(dataclasses.FrozenInstanceError):
        found.df = 1
    with pytest.raises(dataclasses.FrozenInstanceError):
        of_settings().limit = 0.5
