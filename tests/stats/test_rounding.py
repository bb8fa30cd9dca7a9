from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labrecords.stats.rounding import report_digits


@pytest.mark.parametrize(
    ("value", "uncertainty", "written"),
    [
        (1.4664, 0.068775, "1.466"),
        (10.05762, 0.027, "10.058"),  # JCGM 100:2008, 7.2.6: 10.05762 ohm with u 27 milliohm
        (1234.4, 230, "1230"),
        (1.2, 0.0996, "1.20"),  # the uncertainty becomes 0.10
        (-0.004, 0.5, "0.00"),
        (0, 0.012, "0.000"),
        (Decimal("2.5"), Decimal("10"), "2"),
        (3.5, 10, "4"),
        (5, 1234, "0"),
    ],
)
def test_value_to_the_place_of_the_uncertainty(value, uncertainty, written):
    assert report_digits(value, uncertainty=uncertainty) == written


@pytest.mark.parametrize(
    ("value", "digits", "written"),
    [
        (0.068775, 2, "0.069"),
        (0.0996, 2, "0.10"),
        (0.125, 2, "0.12"),  # ISO 80000-1, Annex B, rule A: a tie goes to the even digit
        (0.135, 2, "0.14"),
        (2.675, 3, "2.68"),  # a tie as written, though binary holds slightly less
        (99.6, 2, "100"),
        (1234567, 3, "1230000"),
        (-1.45, 2, "-1.4"),
        (0, 2, "0"),
        (-0.0, 3, "0"),
        (5e-324, 1, "0." + 323 * "0" + "5"),
        (1.7e308, 1, "2" + 308 * "0"),
    ],
)
def test_value_alone(value, digits, written):
    assert report_digits(value, digits=digits) == written


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ({"value": float("nan")}, r"value must be a finite number; got nan\."),
        ({"value": Decimal("NaN")}, r"value must be a finite number; got "),
        ({"value": "1.2"}, r"value must be a finite number; got '1\.2'\."),
        ({"value": 1.0, "uncertainty": 0}, r"uncertainty must be above 0; got 0\."),
        ({"value": 1.0, "uncertainty": float("inf")}, r"uncertainty must be a finite number; got inf\."),
        ({"value": 1.0, "digits": 0}, r"digits must be at least 1; got 0\."),
    ],
)
def test_refused(arguments, sentence):
    with pytest.raises(ValueError, match=sentence):
        report_digits(**arguments)


@given(value=st.floats(-1e9, 1e9), uncertainty=st.floats(1e-9, 1e9), digits=st.integers(min_value=1, max_value=4))
def test_never_off_by_more_than_half_a_digit(value, uncertainty, digits):
    written = Decimal(report_digits(value, uncertainty=uncertainty, digits=digits))
    last_digit = Decimal(10) ** (Decimal(report_digits(uncertainty, digits=digits)).adjusted() - digits + 1)
    assert abs(written - Decimal(repr(value))) <= last_digit / 2
    assert written % last_digit == 0
