"""Budgets whose lines do not go together, and studies that need one."""

from dataclasses import replace
from decimal import Decimal

import pytest

from labrecords.rules.answers import codes
from labrecords.rules.budget import Line, check_guard, check_lines, combined

CELL = Line("cell", "B", "normal", Decimal("0.03"), "standard uncertainty", "certificate")


def test_lines_that_go_together_combine():
    lines = [CELL, replace(CELL, name="width", size=Decimal("0.04"), df=Decimal(5))]
    assert check_lines(lines) == []
    # 0.03^2 + 0.04^2 = 0.05^2; by Welch and Satterthwaite 0.05^4 / (0.04^4 / 5) = 12.2
    found = combined(lines, coverage=Decimal("0.95"))
    assert (round(found.combined, 12), round(found.effective_df, 1)) == (0.05, 12.2)


@pytest.mark.parametrize(
    "lines",
    [
        [],
        [CELL, CELL],
        [replace(CELL, source=" ")],
        [replace(CELL, size=Decimal(0))],
        [replace(CELL, sensitivity=Decimal(0))],
        [replace(CELL, size_is="half width")],
        [replace(CELL, size=Decimal(-1))],
    ],
)
def test_lines_that_do_not_are_named(lines):
    assert set(codes(check_lines(lines))) == {"budget-incomplete"}


@pytest.mark.parametrize(
    ("rule", "budget", "expected"),
    [
        ("every value", None, ()),
        ("guarded by uncertainty", "U-1", ()),
        ("guarded by uncertainty", None, ("no-budget",)),
    ],
)
def test_a_guarded_rule_needs_a_budget(rule, budget, expected):
    assert codes(check_guard(decision_rule=rule, budget=budget, method="P-3", technique="A")) == expected
