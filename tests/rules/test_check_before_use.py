"""Whether tester and cell were checked before they were used, and what a check is."""

import pytest

from labrecords.rules.answers import codes
from labrecords.rules.check_before_use import check_kinds, new_signals, within_tolerance


@pytest.mark.parametrize("standard", ["mass", "strip"])
def test_a_check_is_of_a_tester_with_a_cell_against_a_standard(standard):
    assert check_kinds(tester="tester", cell="cell", standard=standard) == []


@pytest.mark.parametrize(
    ("tester", "cell", "standard"),
    [("cell", "cell", "mass"), ("tester", "tester", "mass"), ("tester", "cell", "width gauge")],
)
def test_anything_else_is_no_check(tester, cell, standard):
    told = check_kinds(tester=tester, cell=cell, standard=standard)
    assert codes(told) == ("not-a-check",)
    assert told[0].why == f"It was sent for: {tester}, {cell}, {standard}."


def test_a_mass_within_a_share_of_what_it_weighs():
    assert within_tolerance(9.9, nominal_n=9.80665, tolerance=0.01)
    assert not within_tolerance(9.7, nominal_n=9.80665, tolerance=0.01)


def test_only_the_last_reading_is_judged():
    limits = {"centre": 10.0, "sigma": 0.1, "range_limit": 0.37}
    assert new_signals([10.5, 10.2], **limits) == ()
    assert new_signals([10.5], **limits) == ("one point beyond three sigma",)
