"""Decision rules at the limit itself, compared as exact decimals."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labrecords.rules.decision import (
    EVERY_VALUE,
    GUARDED,
    RULES,
    TOLERANCE_BOUND,
    acceptance_limit,
    count_outside,
    meets,
)


@pytest.mark.parametrize(
    ("value", "side", "limit", "expected"),
    [
        ("1.00", "lower", "1", True),
        ("1", "lower", "1.00", True),
        ("0.999999999", "lower", "1", False),
        ("1.000000001", "lower", "1", True),
        ("1.00", "upper", "1", True),
        ("1.000000001", "upper", "1", False),
        ("0.999999999", "upper", "1", True),
        ("0.3", "lower", "0.30", True),
        ("0", "lower", "0", True),
    ],
)
def test_at_the_limit(value, side, limit, expected):
    assert meets(Decimal(value), side=side, limit=Decimal(limit)) is expected


def test_three_tenths_meet_three_tenths_where_binary_numbers_do_not():
    assert 0.1 + 0.2 > 0.3
    assert meets(Decimal("0.1") + Decimal("0.2"), side="upper", limit=Decimal("0.3"))


@pytest.mark.parametrize("side", ["Lower", "at least", ""])
def test_a_side_that_is_none_is_a_mistake_in_the_code(side):
    with pytest.raises(KeyError):
        meets(Decimal("1"), side=side, limit=Decimal("1"))


def test_values_outside_are_counted():
    values = [Decimal(text) for text in ("0.99", "1", "1.00", "1.01", "2")]
    assert count_outside(values, side="lower", limit=Decimal("1.0")) == 1
    assert count_outside(values, side="upper", limit=Decimal("1.0")) == 2
    assert count_outside([], side="lower", limit=Decimal("1.0")) == 0


@given(st.lists(st.decimals(allow_nan=False, allow_infinity=False, places=3)), st.decimals(0, 10, places=3))
def test_each_value_is_outside_one_side_or_on_the_limit(values, limit):
    below, above = (count_outside(values, side=side, limit=limit) for side in ("lower", "upper"))
    assert below + above + values.count(limit) == len(values)


def test_each_rule_has_sentences():
    assert set(RULES) == {EVERY_VALUE, TOLERANCE_BOUND, GUARDED}
    assert all(words[0].isupper() and words.endswith(".") for words in RULES.values())


@pytest.mark.parametrize(
    ("side", "share", "expected"),
    [
        ("lower", 0.08, "1.62"),
        ("upper", 0.08, "1.38"),
        ("lower", 1 / 3, "2.000000000"),  # 1.5 x 0.333... is rounded to the safe side
        ("lower", 0.0, "1.5"),
    ],
)
def test_an_acceptance_limit_lies_on_the_good_side_by_the_guard_band(side, share, expected):
    """JCGM 106:2012, 8.3.2, from memory: the acceptance limit is the tolerance limit moved by the guard band."""
    assert acceptance_limit(Decimal("1.5"), side=side, share=share) == Decimal(expected)
