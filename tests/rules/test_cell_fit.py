"""A load cell is judged by its verified range and its noise; a small share of capacity alone is a note."""

from dataclasses import replace

import pytest

from labrecords.rules.answers import codes
from labrecords.rules.cell_fit import check_cell, check_top

from .good import CELL, calibrated

BIG = calibrated(replace(CELL, capacity_n=500.0), verified_low_n=1.0)


def fit(cell=CELL, *, weak_n=4.0, strong_n=20.0, noise_share=0.01, accepted=False):
    return check_cell(cell, weak_n=weak_n, strong_n=strong_n, noise_share=noise_share, accepted=accepted)


@pytest.mark.parametrize(
    ("weak_n", "expected"),
    [(4.0, ()), (0.5, ()), (0.49, ("cell-too-large",)), (0.0, ("cell-too-large",))],
)
def test_the_weakest_force_lies_in_the_verified_range(weak_n, expected):
    assert CELL.calibration.verified_low_n == 0.5
    assert codes(fit(weak_n=weak_n)) == expected


@pytest.mark.parametrize(
    ("noise_n", "weak_n", "expected"),
    [
        (0.04, 4.0, ()),
        (0.041, 4.0, ("cell-too-large",)),
        (0.0, 4.0, ()),
        (None, 4.0, ()),
        (0.04, 0.0, ("cell-too-large",)),
    ],
)
def test_noise_is_at_most_its_share_of_the_weakest_force(noise_n, weak_n, expected):
    assert codes(fit(calibrated(CELL, noise_n=noise_n, verified_low_n=None), weak_n=weak_n)) == expected


def test_the_sentence_names_range_or_noise():
    [below] = fit(weak_n=0.3)
    assert below.why == "The weakest force expected is 0.3 N; Cell 50 N (LC-000090-K) is verified from 0.5 N."
    [noisy] = fit(calibrated(CELL, noise_n=0.1))
    assert noisy.why == (
        "The noise of Cell 50 N (LC-000090-K) is 0.1 N, and the method allows 1 % of the weakest force expected (4 N)."
    )


def test_range_and_noise_are_one_reason():
    assert codes(fit(calibrated(CELL, verified_low_n=5.0, noise_n=1.0))) == ("cell-too-large",)


def test_an_engineer_may_accept_it():
    assert codes(fit(weak_n=0.3, accepted=True)) == ()


def test_without_a_calibration_only_the_calibration_rule_speaks():
    assert fit(replace(CELL, calibration=None), weak_n=0.001) == []


@pytest.mark.parametrize(("strong_n", "expected"), [(50.0, ()), (49.9, ("small-share",)), (20.0, ("small-share",))])
def test_a_small_share_of_capacity_is_a_note_and_no_stop(strong_n, expected):
    assert BIG.capacity_n == 500.0
    assert codes(fit(BIG, strong_n=strong_n)) == expected
    assert codes(fit(BIG, strong_n=strong_n, accepted=True)) == expected


def test_the_share_is_told():
    [note] = fit(BIG)
    assert note.why == "20 N is 4.0 % of the capacity of Cell 50 N (500 N)."


def test_the_strongest_force_lies_in_the_verified_range():
    cell = calibrated(CELL, verified_high_n=40.0)
    assert check_top(cell, strong_n=40.0, accepted=False) == []
    [answer] = check_top(cell, strong_n=40.5, accepted=False)
    assert answer.code == "cell-too-small"
    assert answer.why == "The strongest force expected is 40.5 N; Cell 50 N (LC-000090-K) is verified up to 40 N."
    assert check_top(cell, strong_n=40.5, accepted=True) == []


@pytest.mark.parametrize("accepted", [False, True])
def test_nobody_accepts_a_cell_that_would_be_overloaded(accepted):
    [answer] = check_top(CELL, strong_n=50.5, accepted=accepted)
    assert answer.why == "The strongest force expected is 50.5 N; Cell 50 N (LC-000090-K) can measure 50 N."


@pytest.mark.parametrize("cell", [calibrated(CELL, verified_high_n=None), replace(CELL, calibration=None)])
def test_without_a_verified_end_only_the_capacity_is_asked(cell):
    assert check_top(cell, strong_n=50.0, accepted=False) == []
