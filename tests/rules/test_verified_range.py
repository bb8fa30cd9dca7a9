"""The verified range of a load cell, from the forces applied and what was read."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labrecords.rules.verified_range import Point, largest_error_percent, points_of, verified_range


def points(*forces, off=0.0):
    """Points with one reading each, all off by the same share."""
    return tuple(Point(force, (force * (1 + off),)) for force in forces)


# ASTM E4, as quoted by makers of test equipment: readings within 1 %, no verified force below 200 resolutions, at
# least five forces; the recommended forces of a decade are 1, 2, 4, 7 and 10.
DECADE = (1.0, 2.0, 4.0, 7.0, 10.0)


def test_the_lower_end_is_no_less_than_two_hundred_resolutions():
    made = verified_range(points(*DECADE), resolution_n=0.01, rule="E4")
    assert (made.low_n, made.high_n) == (2.0, 10.0)
    assert verified_range(points(*DECADE), resolution_n=0.005, rule="E4").low_n == 1.0
    assert verified_range(points(*DECADE), resolution_n=None, rule="E4").low_n == 1.0


@pytest.mark.parametrize(("off", "verified"), [(0.0099, True), (-0.0099, True), (0.0101, False), (-0.0101, False)])
def test_every_reading_lies_within_one_per_cent(off, verified):
    assert (verified_range(points(*DECADE, off=off), resolution_n=None, rule="E4").low_n is not None) == verified


def test_one_reading_too_many_off_spoils_its_force_however_good_the_mean():
    worse = (*points(1.0, 2.0), Point(4.0, (4.05, 3.95)), *points(7.0, 10.0))
    made = verified_range(worse, resolution_n=None, rule="E4")
    assert (made.low_n, made.high_n) == (7.0, 10.0)  # of two stretches as long, the stronger
    assert "Not verified at 1, 2, 4 N" in made.notes[0]
    assert verified_range(worse, resolution_n=None, rule="class 2").low_n == 7.0  # its readings differ by 2.5 %


# ISO 7500-1:2018, error and repeatability by class, from memory
@pytest.mark.parametrize(
    ("rule", "worst", "least"), [("0.5", 0.005, 4), ("1", 0.01, 2), ("2", 0.02, 1), ("3", 0.03, 1)]
)
def test_classes_allow_what_they_allow(rule, worst, least):
    within = verified_range(points(*DECADE, off=worst * 0.99), resolution_n=0.01, rule=f"class {rule}")
    assert (within.low_n, within.high_n) == (least, 10.0)
    beyond = verified_range(points(*DECADE, off=worst * 1.01), resolution_n=0.01, rule=f"class {rule}")
    assert beyond.low_n is None


def test_too_few_forces_are_said():
    made = verified_range(points(1.0, 5.0, 10.0), resolution_n=None, rule="E4")
    assert "Only 3 forces" in " ".join(made.notes)
    wide = verified_range(points(0.1, *DECADE), resolution_n=None, rule="E4")
    assert "Fewer than 5 forces were applied from 0.1 to 1 N." in wide.notes
    assert verified_range(points(0.1, 0.2, 0.4, 0.7, *DECADE), resolution_n=None, rule="E4").notes == ()


def test_rows_are_read_in_the_order_of_their_forces():
    made = points_of([["10", "10.02", "9.99"], ["5", "5.01"]])
    assert [point.applied for point in made] == [5.0, 10.0]
    assert made[1].error_percent == pytest.approx(0.2)
    assert made[1].mean_error_percent == pytest.approx(0.05)
    assert made[1].repeatability_percent == pytest.approx(0.3)


def test_the_largest_error_between_two_forces():
    made = (*points(1.0, off=0.05), *points(2.0, off=-0.01), *points(4.0, off=0.002))
    assert largest_error_percent(made, low_n=2.0, high_n=10.0) == pytest.approx(-1.0)
    assert largest_error_percent(made, low_n=5.0, high_n=10.0) is None


@given(
    st.lists(st.floats(0.1, 100), min_size=1, max_size=12, unique=True),
    st.floats(-0.03, 0.03),
    st.floats(1e-4, 0.1),
)
def test_a_coarser_resolution_never_verifies_more(forces, off, resolution):
    made = tuple(sorted(points(*forces, off=off), key=lambda point: point.applied))
    fine = verified_range(made, resolution_n=resolution, rule="E4")
    coarse = verified_range(made, resolution_n=2 * resolution, rule="E4")
    if coarse.low_n is not None:
        assert fine.low_n is not None
        assert fine.low_n <= coarse.low_n
        assert fine.high_n == coarse.high_n
