"""Weak and strong ends, to the very limit, and averages only where the strip peeled."""

from dataclasses import replace

import pytest

from labrecords.rules.answers import codes
from labrecords.rules.reach import check_reach

from .good import CELL, ENTRY, METHOD, TESTER, calibrated


def reached(*, cell=CELL, tester=TESTER, **changed):
    return check_reach(entry=replace(ENTRY, **changed), tester=tester, cell=cell, method=METHOD)


@pytest.mark.parametrize(
    ("force_n", "expected"),
    [
        (9.31, ()),
        (0.5, ()),
        (0.4999, ("below-verified",)),
        (0.0, ("below-verified",)),
        (50.0, ()),
        (50.0001, ("above-capacity",)),
        (None, ()),
    ],
)
def test_the_verified_limit_and_the_capacity_are_still_within_reach(force_n, expected):
    assert (CELL.calibration.verified_low_n, CELL.capacity_n) == (0.5, 50.0)
    assert codes(reached(peak_force_n=force_n)) == expected


def test_the_weaker_of_tester_and_cell_is_the_end():
    weak_tester = replace(TESTER, capacity_n=20.0)
    assert reached(peak_force_n=20.0, tester=weak_tester) == []
    [answer] = reached(peak_force_n=20.5, tester=weak_tester)
    assert answer.facts["above_n"] == "20"
    assert answer.facts["item"] == weak_tester.label
    assert answer.why == "20.5 N is more than Bench tester 1 (TS-000002-3) can measure: 20 N."


@pytest.mark.parametrize("cell", [calibrated(CELL, verified_low_n=None), replace(CELL, calibration=None)])
def test_without_a_verified_limit_nothing_is_below_it(cell):
    assert reached(cell=cell, peak_force_n=0.001) == []


@pytest.mark.parametrize("item", ["cell", "tester"])
def test_the_verified_range_has_an_upper_end_too(item):
    high = {item: calibrated({"cell": CELL, "tester": TESTER}[item], verified_high_n=40.0)}
    assert reached(peak_force_n=40.0, **high) == []
    [answer] = reached(peak_force_n=40.1, **high)
    assert answer.code == "above-verified"
    assert answer.facts == {"force_n": "40.1", "above_n": "40"}
    assert answer.why == "40.1 N is above 40 N, where the verified range of tester and cell ends."


def test_the_narrower_of_two_verified_ranges_counts():
    tester = calibrated(TESTER, verified_low_n=2.0, verified_high_n=100.0)
    assert codes(reached(tester=tester, peak_force_n=1.9)) == ("below-verified",)
    assert reached(tester=tester, peak_force_n=2.0) == []
    assert codes(reached(tester=tester, peak_force_n=60.0)) == ("above-capacity",)


def test_marks_carry_the_numbers_that_are_printed():
    [weak] = reached(peak_force_n=0.25)
    assert weak.facts == {"force_n": "0.25", "below_n": "0.5"}
    [strong] = reached(peak_force_n=60.2)
    assert strong.facts == {"force_n": "60.2", "above_n": "50", "item": CELL.label}


@pytest.mark.parametrize(
    ("modes", "expected"),
    [
        (("AP",), ()),
        (("BR", "CO"), ()),
        (("BR",), ("no-average",)),
    ],
)
def test_an_average_needs_a_peel(modes, expected):
    assert codes(reached(modes=modes)) == expected


def test_a_strong_strip_that_broke_has_both_marks():
    assert codes(reached(modes=("BR",), peak_force_n=60.2)) == ("above-capacity", "no-average")


def test_an_opened_seal_has_one_mark():
    assert codes(reached(opened=True, peak_force_n=None, modes=())) == ("opened-before-test",)
