import dataclasses
import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labrecords.stats import reml
from labrecords.stats.components import crossed_gauge, nested_gauge, one_way_components
from labrecords.stats.gauge_table import layout
from labrecords.stats.likelihood import evaluate

SEEDS = st.integers(0, 10_000)
KINDS = (crossed_gauge, nested_gauge)


def study(*, operators=3, parts=4, count=3, seed=0, sds=(0.4, 1.0, 0.3, 0.2)):
    """A balanced study: sds of operator, part, interaction, repeatability."""
    rng = np.random.default_rng(seed)
    operator, part = rng.normal(0, sds[0], operators), rng.normal(0, sds[1], parts)
    both = rng.normal(0, sds[2], (operators, parts))
    rows = [
        (f"P{j}", f"O{i}", 10 + operator[i] + part[j] + both[i, j] + error)
        for i in range(operators)
        for j in range(parts)
        for error in rng.normal(0, sds[3], count)
    ]
    return pd.DataFrame(rows, columns=["part", "operator", "value"])


def thinned(table, *, seed=0, share=0.2):
    rng = np.random.default_rng(seed)
    return table[rng.random(len(table)) > share]


def components_of(found):
    return {"repeatability": found.repeatability, "operator": found.operator, "part": found.part} | (
        {} if found.interaction is None else {"interaction": found.interaction}
    )


# --- Estimates


@pytest.mark.parametrize("function", KINDS)
@pytest.mark.parametrize("seed", range(12))
def test_balanced_reml_is_the_analysis_of_variance_where_nothing_is_negative(function, seed):
    table = study(seed=seed, operators=4, parts=6)
    plain, likely = function(table), function(table, method="reml")
    assert (plain.method, likely.method) == ("anova", "reml")
    if min(plain.raw.values()) > 0:
        assert likely.raw == pytest.approx(plain.raw, rel=1e-9)
    assert likely.intervals == plain.intervals  # the design has exact mean squares, whoever estimates
    assert likely.anova == plain.anova


def test_some_of_these_studies_have_nothing_negative():
    found = [min(crossed_gauge(study(seed=seed, operators=4, parts=6)).raw.values()) > 0 for seed in range(12)]
    assert sum(found) > 6


def test_a_component_beside_which_repeatability_is_tiny_keeps_its_digits():
    table = study(seed=3, operators=4, parts=6, sds=(10.0, 100.0, 10.0, 0.01))
    plain, likely = crossed_gauge(table), crossed_gauge(table, method="reml")
    assert min(plain.raw.values()) > 0
    assert likely.raw == pytest.approx(plain.raw, rel=1e-8)


def test_more_operators_than_parts():
    table = study(operators=7, parts=3, seed=5)
    plain, likely = crossed_gauge(table), crossed_gauge(table, method="reml")
    assert min(plain.raw.values()) > 0
    assert likely.raw == pytest.approx(plain.raw, rel=1e-9)
    missing = crossed_gauge(table.drop(index=0))
    assert missing.F["interaction"] == pytest.approx(plain.F["interaction"], rel=0.2)


@pytest.mark.parametrize("function", KINDS)
@pytest.mark.parametrize("seed", range(6))
def test_reml_of_unbalanced_data_is_where_the_dense_likelihood_is_highest(function, seed):
    """The likelihood written out with matrices of all values, from the textbook's formula."""
    table = thinned(study(seed=seed), seed=seed)
    found = function(table)
    assert not found.balanced
    at = components_of(found)
    best = dense_deviance(table, at, nested=function is nested_gauge)
    for name in at:
        for change in (1e-3, -1e-3):
            near = at | {name: max(at[name] + change * found.total, 0.0)}
            assert dense_deviance(table, near, nested=function is nested_gauge) >= best - 1e-9
    data = layout(table)
    cells, terms = (
        (data.crossed_cells()[0], ("cell", "outer", "inner"))
        if function is crossed_gauge
        else (data.nested_cells()[0], ("cell", "outer"))
    )
    assert reml.fit(cells, terms=terms).deviance == pytest.approx(best, rel=1e-10)


def dense_deviance(table, variances, *, nested):
    operator = pd.get_dummies(table["operator"]).to_numpy(float)
    part = pd.get_dummies(table["part"]).to_numpy(float)
    cell = pd.get_dummies(table["operator"] + table["part"]).to_numpy(float)
    terms = {"operator": operator, "part": cell if nested else part, "interaction": cell}
    n = len(table)
    covariance = variances["repeatability"] * np.eye(n)
    for name, design in terms.items():
        covariance += variances.get(name, 0.0) * design @ design.T
    inverse, ones, y = np.linalg.inv(covariance), np.ones(n), table["value"].to_numpy()
    information = ones @ inverse @ ones
    left = y - (ones @ inverse @ y) / information
    quadratic = left @ inverse @ left
    return np.linalg.slogdet(covariance)[1] + math.log(information) + quadratic + (n - 1) * math.log(2 * math.pi)


@pytest.mark.parametrize("inner", [0.0, 1e-9, 0.3, 50.0])
def test_the_slope_of_the_likelihood_is_its_difference(inner):
    cells = layout(thinned(study(seed=8))).crossed_cells()[0]
    at = np.array([0.5, 3.0, inner])
    point = evaluate(cells, *at)
    slope = point.trace - point.square / point.residual
    for place in range(3):
        step = np.zeros(3)
        step[place] = 1e-6 * max(at[place], 1e-3)
        ahead, there = evaluate(cells, *(at + step)).deviance, evaluate(cells, *(at - step * (at > step))).deviance
        width = step[place] * (2 if at[place] > step[place] else 1)
        assert (ahead - there) / width == pytest.approx(slope[place], rel=1e-4, abs=1e-4)


def test_negative_estimates_are_given_raw_and_at_zero():
    table = study(seed=2, sds=(1.0, 1.0, 0.0, 0.5))
    found, likely = crossed_gauge(table), crossed_gauge(table, method="reml")
    assert found.raw["interaction"] < 0 == found.interaction
    assert found.raw["grr"] == pytest.approx(sum(found.raw[n] for n in ("repeatability", "operator", "interaction")))
    assert found.grr == pytest.approx(found.repeatability + found.operator)
    # With nothing else negative, REML of the full model is the analysis of variance of the pooled one.
    assert min(found.pooled.raw.values()) > 0 == likely.interaction
    assert likely.repeatability == pytest.approx(found.pooled.repeatability, rel=1e-9)
    assert likely.operator == pytest.approx(found.pooled.operator, rel=1e-9)


def test_all_components_at_the_boundary():
    table = pd.DataFrame(
        {"part": [1, 1, 2, 2] * 2, "operator": ["A"] * 4 + ["B"] * 4, "value": [0.0, 1.0] * 4}
    )  # every cell has the same mean
    found = crossed_gauge(table, method="reml")
    assert (found.part, found.operator, found.interaction) == (0, 0, 0)
    assert found.repeatability == pytest.approx(2 / 7)
    assert (found.percent_study, found.distinct_categories) == (pytest.approx(100), 1)
    assert found.pooled.repeatability == pytest.approx(2 / 7)


def test_the_same_label_under_two_operators_is_two_parts():
    table = study()
    renamed = table.assign(part=table["operator"] + table["part"])
    assert nested_gauge(table) == nested_gauge(renamed)
    assert nested_gauge(table).parts == 12


def test_what_follows_from_the_components():
    found = crossed_gauge(study(), tolerance=8)
    assert found.grr_sd**2 + found.part_sd**2 == pytest.approx(found.total_sd**2)
    assert found.percent_tolerance == pytest.approx(100 * 6 * found.grr_sd / 8)
    assert found.percent_study == found.percents_study["grr"] == pytest.approx(100 * found.grr_sd / found.total_sd)
    assert found.distinct_categories == max(1, math.floor(1.41 * found.part_sd / found.grr_sd))
    shares = found.percents_contribution
    assert shares["grr"] + shares["part"] == pytest.approx(100)
    assert crossed_gauge(study()).percent_tolerance is None
    assert (found.n, found.parts, found.operators, found.balanced) == (36, 4, 3, True)
    assert found.pooled.interaction is None
    assert "interaction" not in found.pooled.raw
    with pytest.raises(dataclasses.FrozenInstanceError):
        found.grr = 0


def test_pooling_is_suggested_by_the_p_of_the_interaction():
    alike, apart = (
        crossed_gauge(study(seed=1, sds=(0.4, 1, 0, 0.5))),
        crossed_gauge(study(seed=1, sds=(0.4, 1, 2, 0.1))),
    )
    assert (alike.p["interaction"] > 0.25, alike.pooling_suggested) == (True, True)
    assert (apart.p["interaction"] > 0.25, apart.pooling_suggested) == (False, False)


def test_values_equal_in_every_cell_have_no_repeatability():
    table = study(count=1)
    twice = pd.concat([table, table])
    found = crossed_gauge(twice)
    assert found.repeatability == 0
    assert (found.F["interaction"], found.p["interaction"], found.pooling_suggested) == (None, None, False)
    assert found.intervals["repeatability"] == (0, 0)
    with pytest.raises(ValueError, match=r"value must differ within some part and operator for REML; got all equal"):
        crossed_gauge(twice, method="reml")


def test_measuring_without_any_spread_tells_all_categories():
    table = pd.DataFrame({"part": [1, 1, 2, 2] * 2, "operator": ["A"] * 4 + ["B"] * 4, "value": [1.0, 1, 2, 2] * 2})
    found = crossed_gauge(table)
    assert (found.grr_sd, found.percent_study, found.distinct_categories) == (0, 0, None)


def test_a_study_in_pieces_and_without_interaction_to_see():
    table = pd.DataFrame(
        {
            "part": [1, 1, 2, 2, 3, 3, 4, 4],
            "operator": ["A", "A", "A", "A", "B", "B", "B", "B"],
            "value": [1.0, 1.2, 2.1, 2.2, 1.5, 1.4, 3.0, 3.3],
        }
    )
    found = crossed_gauge(table)
    assert found.df == {"part": 2, "operator": 0, "interaction": 0, "repeatability": 4, "total": 6}
    assert found.ms["interaction"] is found.F["interaction"] is None
    assert not found.pooling_suggested


def test_a_maximum_that_is_not_found_is_said(monkeypatch):
    monkeypatch.setattr(reml, "MOST_STEPS", 0)
    with pytest.raises(
        ValueError, match=r"table must give a REML likelihood with a maximum that can be found; got none"
    ):
        crossed_gauge(study(), method="reml")


# --- Properties


@pytest.mark.parametrize("function", KINDS)
@given(seed=SEEDS, scale=st.sampled_from([1e-3, 7.0, 1e5]), shift=st.sampled_from([-3.0, 0.0, 1e4]))
@settings(max_examples=25, deadline=None)
def test_location_and_scale(function, seed, scale, shift):
    table = study(seed=seed)
    moved = table.assign(value=table["value"] * scale + shift * scale)
    plain, other = function(table), function(moved)
    for name, value in plain.raw.items():
        assert other.raw[name] == pytest.approx(value * scale**2, rel=1e-6, abs=1e-9 * scale**2)
    assert other.percent_study == pytest.approx(plain.percent_study, rel=1e-6)


@pytest.mark.parametrize("function", KINDS)
@pytest.mark.parametrize("thin", [False, True])
@given(seed=SEEDS)
@settings(max_examples=5, deadline=None)
def test_the_order_of_the_rows_changes_nothing(function, thin, seed):
    table = thinned(study(seed=seed), seed=seed) if thin else study(seed=seed)
    shuffled = table.sample(frac=1, random_state=seed)
    plain, other = function(table), function(shuffled)
    assert other.raw == pytest.approx(plain.raw, rel=1e-7, abs=1e-9)
    assert other.ss == pytest.approx(plain.ss, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("scale", [1e-90, 1e90])
def test_very_small_and_very_large_values(scale):
    table = thinned(study(seed=4))
    large = table.assign(value=(table["value"] - 10) * scale)
    plain, other = crossed_gauge(table), crossed_gauge(large)
    assert other.grr_sd == pytest.approx(plain.grr_sd * scale, rel=1e-7)
    assert other.intervals["grr"].high == pytest.approx(plain.intervals["grr"].high * scale**2, rel=1e-5)


def test_intervals_widen_with_confidence():
    for table in (study(seed=4), thinned(study(seed=4))):
        narrow, wide = crossed_gauge(table, confidence=0.8), crossed_gauge(table, confidence=0.99)
        for name in ("repeatability", "part", "grr", "total"):
            inner, outer = narrow.intervals[name], wide.intervals[name]
            assert outer.low < inner.low < inner.high < outer.high, name
        assert (narrow.confidence, wide.confidence) == (0.8, 0.99)


def test_constant_leading_digits_cost_nothing():
    table = study(seed=6)
    exact = table.assign(value=np.round(table["value"] * 64) / 64)
    shifted = exact.assign(value=exact["value"] + 2.0**40)
    assert crossed_gauge(shifted).raw == pytest.approx(crossed_gauge(exact).raw, rel=1e-10)
    assert nested_gauge(shifted).raw == pytest.approx(nested_gauge(exact).raw, rel=1e-10)


# --- What is refused

GOOD = study()


@pytest.mark.parametrize("function", KINDS)
@pytest.mark.parametrize(
    ("table", "arguments", "sentence"),
    [
        ([1, 2], {}, r"table must be a pandas DataFrame; got list\."),
        (
            GOOD.drop(columns="part"),
            {},
            r"table must have the columns part, operator and value; got none called part\.",
        ),
        (GOOD.assign(value=1.0), {}, r"value must not all be equal; got 36 times 1\.0\."),
        (GOOD.assign(value=[math.nan, *[1.0] * 35]), {}, r"value must be finite numbers"),
        (GOOD.assign(value="x"), {}, r"value must be a list of numbers"),
        (GOOD[:2], {}, r"value must hold at least 3 numbers; got 2\."),
        (
            GOOD.assign(part=["P0", None, *["P1"] * 34]),
            {},
            r"part must be given in every row; got none at position 2\.",
        ),
        (GOOD.assign(operator="A"), {}, r"table must hold at least 2 operators; got 1\."),
        (study(count=1), {}, r"table must hold at least 2 values of some part by the same operator; got 1 of each\."),
        (GOOD, {"method": "ml"}, r"method must be one of auto, anova, reml; got 'ml'\."),
        (GOOD[:-1], {"method": "anova"}, r"method must be auto or reml where the table is not balanced; got 'anova'\."),
        (GOOD, {"tolerance": 0}, r"tolerance must be above 0; got 0\."),
        (GOOD, {"tolerance": math.inf}, r"tolerance must be a finite number; got inf\."),
        (GOOD, {"confidence": 1}, r"confidence must be between 0 and 1, both left out; got 1\."),
    ],
)
def test_refuses(function, table, arguments, sentence):
    with pytest.raises(ValueError, match=sentence):
        function(table, **arguments)


def test_refuses_too_few_parts():
    one = GOOD.assign(part="P")
    with pytest.raises(ValueError, match=r"table must hold at least 2 parts; got 1\."):
        crossed_gauge(one)
    with pytest.raises(ValueError, match=r"table must hold at least 2 parts of some operator; got 1 of each\."):
        nested_gauge(one)


# --- One-way


@given(seed=SEEDS)
@settings(max_examples=20, deadline=None)
def test_one_way_of_equal_groups_is_nested_without_operators(seed):
    groups = np.random.default_rng(seed).normal(size=(5, 4)) + np.arange(5)[:, None]
    found = one_way_components(list(groups))
    assert found.n0 == 4
    ms = 4 * groups.mean(axis=1).var(ddof=1), groups.var(axis=1, ddof=1).mean()
    assert (found.ms["between"], found.ms["within"]) == pytest.approx(ms)
    assert found.between_raw == pytest.approx((ms[0] - ms[1]) / 4)
    assert found.total_sd**2 == pytest.approx(found.between + found.within)
    assert one_way_components({str(place): group for place, group in enumerate(groups)}) == found
    assert one_way_components(list(groups[::-1, ::-1])).between_raw == pytest.approx(found.between_raw)


def test_one_way_between_below_zero():
    found = one_way_components([[1, 5], [2, 4]])
    assert (found.between, found.between_sd) == (0, 0)
    assert found.between_raw == -2.5
    assert found.intervals["between"].low == 0


@pytest.mark.parametrize(
    ("groups", "arguments", "sentence"),
    [
        ([[1, 2]], {}, r"groups must hold at least 2 groups; got 1\."),
        ([[1], [2], [3]], {}, r"groups must hold at least 2 values in some group; got 1 in each\."),
        ([[1, 2], []], {}, r"group 2 must hold at least 1 number; got 0\."),
        ({"lot 7": [1, math.inf], "lot 8": [1, 2]}, {}, r"group lot 7 must be finite numbers"),
        ([[1, 1], [1, 1]], {}, r"groups must not all be equal; got 4 times 1\.0\."),
        ([[1], [2]], {}, r"groups must hold at least 3 numbers; got 2\."),
        ([[1, 2], [3, 4]], {"confidence": 0}, r"confidence must be between 0 and 1"),
    ],
)
def test_one_way_refuses(groups, arguments, sentence):
    with pytest.raises(ValueError, match=sentence):
        one_way_components(groups, **arguments)
