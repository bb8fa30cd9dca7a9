from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from labrecords.stats.exact import exact, exact_deviations, quotient, root, whole_numbers
from labrecords.stats.least_squares import polynomial, pure_error

ANY = st.lists(st.floats(-1e100, 1e100), min_size=2, max_size=20)


@given(values=ANY)
def test_whole_numbers_are_the_doubles(values):
    whole, unit = whole_numbers(np.array(values))
    assert [value * unit for value in whole] == [Fraction(value) for value in values]


@given(values=ANY)
def test_sums_by_their_definition(values):
    held = [Fraction(value) for value in values]
    found = exact(np.array(values))
    assert found.mean == sum(held) / len(held)
    assert found.squares == sum((value - found.mean) ** 2 for value in held)
    assert found.variance == found.squares / (len(held) - 1)


@given(values=ANY)
def test_deviations_by_their_definition(values):
    held = sorted(Fraction(value) for value in values)
    median = (held[(len(held) - 1) // 2] + held[len(held) // 2]) / 2
    distances = [abs(value - median) for value in held]
    assert exact_deviations(np.array(values)).mean == sum(distances) / len(held)


@pytest.mark.parametrize("power", [-400, -150, 0, 1, 150, 400])
def test_root_beyond_the_range_of_doubles(power):
    assert root(Fraction(10) ** (2 * (power // 2)) * 2) == pytest.approx(2**0.5 * 10.0 ** (power // 2), rel=1e-15)


def test_root_of_nothing():
    assert root(Fraction(0)) == 0


def test_quotient_refuses_what_no_double_holds():
    assert quotient(Fraction(10) ** 199, Fraction(1)) == 1e199
    with pytest.raises(ValueError, match=r"variances must be within 1e200 of each other; got 1e\+201 and 1\."):
        quotient(Fraction(10) ** 201, Fraction(1))


@given(
    points=st.lists(
        st.tuples(st.integers(-50, 50), st.integers(-1000, 1000).map(lambda value: value / 8)), min_size=5, max_size=20
    ).filter(lambda points: len({x for x, _ in points}) >= 3),
    degree=st.sampled_from([1, 2]),
)
def test_a_fitted_polynomial_leaves_residuals_that_nothing_explains(points, degree):
    """The normal equations, exactly: residuals are orthogonal to every power of x."""
    x, y = (np.array(values, dtype=float) for values in zip(*points, strict=True))
    found = polynomial(x, y, degree=degree)
    residuals = [Fraction(up) - found.at(across) for across, up in zip(x, y, strict=True)]
    for power in range(degree + 1):
        assert sum(left * Fraction(across) ** power for left, across in zip(residuals, x, strict=True)) == 0
    assert found.squares == sum(left**2 for left in residuals)
    assert sum(found.leverage(across) for across in x) == degree + 1
    assert found.df == len(points) - degree - 1


def test_pure_error_is_the_scatter_at_equal_x():
    found = pure_error(np.array([1.0, 1, 2, 3, 3, 3]), np.array([4.0, 6, 9, 1, 2, 3]))
    assert (found.squares, found.df, found.distinct) == (4, 3, 3)
