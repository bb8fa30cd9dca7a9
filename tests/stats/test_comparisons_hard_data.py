"""Comparisons of values whose spread is tiny beside them, of extreme units, and of groups that are all but equal."""

import math
from fractions import Fraction

import pytest

from labrecords.stats import comparisons
from tests.reference.cases.comparisons import DIGITS, certified, sums_of_squares

A = [1.42, 1.51, 1.38, 1.47, 1.55]
B = [1.31, 1.36, 1.33, 1.40]
NAMED = {"low": B, "nominal": A, "high": [1.44, 1.62, 1.40, 1.52]}


def close(value, rel=1e-9, absolute=1e-12):
    return pytest.approx(value, rel=rel, abs=absolute)


@pytest.mark.parametrize("name", DIGITS)
def test_certified_values_follow_from_the_printed_decimals(name):
    """What the analysis of doubles lacks is lost in reading the decimals: in fractions, all certified digits come."""
    values, groups = certified(name)
    between, within = sums_of_squares([[Fraction(datum) for datum in group] for group in groups])
    assert float(between) == close(float(values["ss_between"]), rel=1e-14, absolute=0)
    assert float(within) == close(float(values["ss_within"]), rel=1e-14, absolute=0)


def test_a_spread_that_is_tiny_beside_the_values():
    """Shifted by 2**40 the doubles still hold multiples of 1/64 exactly, so nothing may change."""
    shifted = {name: [round(64 * value) / 64 + 2.0**40 for value in group] for name, group in NAMED.items()}
    plain = {name: [round(64 * value) / 64 for value in group] for name, group in NAMED.items()}
    for compare in (comparisons.one_way, comparisons.bartlett, comparisons.brown_forsythe):
        far, near = compare(*shifted.values()), compare(*plain.values())
        assert far.p_value == near.p_value
    far, near = (comparisons.all_pairs(groups).comparisons for groups in (shifted, plain))
    assert far == near


def test_nearly_equal_variances_keep_bartlett_s_digits():
    """Variances of 2 and 2 (1 + 1e-6): the statistic is about 1e-13 of the logarithms it is the difference of."""
    wide = math.sqrt(1 + 1e-6)
    a, b = [-1.0, 1.0], [-wide, wide]
    excess = Fraction(wide) ** 2 - 1
    mean = 1 + excess / 2
    exact = float((excess / 2 / mean) ** 2)  # log(mean**2 / (1 * (1 + excess))) to first order
    assert comparisons.bartlett(a, b).statistic == close(exact / (1 + (2 - 1 / 2) / 3), absolute=0)


@pytest.mark.parametrize("scale", [1e-90, 1e-30, 1e30, 1e98])
def test_very_small_and_very_large_units(scale):
    moved = {name: [scale * value for value in group] for name, group in NAMED.items()}
    for compare in (comparisons.one_way, comparisons.bartlett, comparisons.brown_forsythe):
        assert compare(*moved.values()).p_value == close(compare(*NAMED.values()).p_value)
    for compare in (comparisons.welch, comparisons.variance_ratio, comparisons.rank_sum):
        assert compare(moved["low"], moved["high"]).p_value == close(compare(B, NAMED["high"]).p_value)


def test_groups_far_apart():
    assert comparisons.welch([1e90, 1.1e90], [1e-60, 2e-60]).df == pytest.approx(1)
    assert comparisons.one_way(A, [1e50, 1e50], [2.0, 3.0]).p_value < 1e-300
    assert comparisons.bartlett([1e98, 2e98], [1e-98, 2e-98]).p_value < 1e-90
    assert comparisons.all_pairs({"a": A, "b": [1e80, 1e80], "c": [2.0, 3.0]}).comparisons[0].p_value < 1e-300
    with pytest.raises(ValueError, match=r"must be within 1e200 of each other"):
        comparisons.one_way([0, 1e-99], [1e99, 1e99])


def test_one_constant_group_is_judged_by_the_other_s_spread():
    found = comparisons.welch([1.4, 1.4, 1.4], B)
    assert found.df == pytest.approx(3)
    assert comparisons.one_way([1.4, 1.4], A).df_within == 5
    assert comparisons.brown_forsythe([1.4, 1.4, 1.4], A).p_value < 1


def test_equal_groups_do_not_differ():
    assert (comparisons.welch(A, A).statistic, comparisons.welch(A, A).p_value) == (0, 1)
    assert (comparisons.one_way(A, A).F, comparisons.one_way(A, A).p_value) == (0, 1)
    assert comparisons.bartlett(A, A) == comparisons.Bartlett(statistic=0, df=1, p_value=1)
    assert comparisons.variance_ratio(A, A).p_value == 1
    assert [one.p_value for one in comparisons.many_to_one({"a": A, "b": A, "c": A}, reference="a").comparisons] == [
        close(1.0),
        close(1.0),
    ]
