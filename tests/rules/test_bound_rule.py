"""Which model a tolerance bound rests on, by the rule that the plan chose."""

import pytest

from labrecords.rules.bound_rule import LOGNORMAL, NORMAL, ORDER, TESTED, choose


@pytest.mark.parametrize("rule", [NORMAL, ORDER])
@pytest.mark.parametrize("plain", [None, 0.001, 0.9])
def test_a_rule_that_asks_for_no_test_stands_whatever_one_says(rule, plain):
    assert choose(rule, plain=plain, logs=plain) == rule


@pytest.mark.parametrize(
    ("plain", "logs", "model"),
    [
        (None, None, NORMAL),  # too few to be tested
        (0.05, 0.001, NORMAL),
        (0.049, 0.05, LOGNORMAL),
        (0.049, 0.049, ORDER),
        (0.049, None, ORDER),  # a value of nothing has no logarithm
    ],
)
def test_the_shape_is_tested_at_five_percent(plain, logs, model):
    assert choose(TESTED, plain=plain, logs=logs) == model
