"""Every number that an outside source knows, held against ours; and that the comparison can fail."""

import itertools

import pytest

from tests.reference import agreement
from tests.reference.case import Case, half_a_unit, significant

GROUPS = {
    function: list(found)
    for function, found in itertools.groupby(
        sorted(agreement.every_case(), key=lambda case: case.function), key=lambda case: case.function
    )
}


@pytest.mark.parametrize("function", GROUPS)
def test_numbers_agree_with_their_source(function):
    apart = [(case.source, case.expected, case.compute()) for case in GROUPS[function] if not case.holds()]
    assert apart == []


@pytest.mark.parametrize(
    ("expected", "found", "holds"),
    [
        ("2.911", 2.9114, True),
        ("2.911", 2.9116, False),
        ("1.50e-3", 0.001504, True),
        ("1.50e-3", 0.001506, False),
        (2.0, 2.0 * (1 + 5e-10), True),
        (2.0, 2.0 * (1 + 5e-9), False),
        (0.0, 1e-10, True),
        (0.0, 1e-8, False),
        (2.0, 2.0, True),
        (2.0, -2.0, False),
    ],
)
def test_a_number_that_is_off_does_not_hold(expected, found, holds):
    assert Case("none", "invented", expected, lambda: found).holds() is holds


def test_printed_digits():
    assert [significant(text) for text in ("0.0450", "120", "-1.15", "2.0e-3", "0")] == [3, 3, 3, 2, 1]
    assert [half_a_unit(text) for text in ("1.15", "12", "1.5e-2")] == pytest.approx([0.005005, 0.5005, 0.0005005])
