"""Typed numbers: understood as a whole, or refused as a whole with what to type."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labrecords.rules.numbers import NotANumber, OtherUnit, parse, without_unit

TWO_WAYS, NO_NUMBER = "may be read two ways", "is not a number"

GOOD = [
    ("9.31", "9.31"),
    ("9,31", "9.31"),
    ("9.30", "9.30"),
    ("9", "9"),
    ("0", "0"),
    ("0.5", "0.5"),
    ("0,125", "0.125"),
    ("-0,125", "-0.125"),
    ("1.234", "1.234"),
    ("1234,567", "1234.567"),
    ("12,34", "12.34"),
    ("1,2345", "1.2345"),
    ("-0.02", "-0.02"),
    ("-1,5", "-1.5"),
    (" 9.31\n", "9.31"),
    ("007", "7"),
    ("123456789.123456789", "123456789.123456789"),
]
BAD = [
    ("1,234", TWO_WAYS),
    ("-1,234", TWO_WAYS),
    ("12,345", TWO_WAYS),
    ("123,456", TWO_WAYS),
    ("00,123", TWO_WAYS),
    ("1,234.5", TWO_WAYS),
    ("1.234,5", TWO_WAYS),
    ("1.234.567", TWO_WAYS),
    ("1 234", TWO_WAYS),
    ("1'234.50", TWO_WAYS),
    ("", NO_NUMBER),
    (" ", NO_NUMBER),
    ("-", NO_NUMBER),
    (".", NO_NUMBER),
    (".5", NO_NUMBER),
    ("5.", NO_NUMBER),
    ("5,", NO_NUMBER),
    ("+5", NO_NUMBER),
    ("--5", NO_NUMBER),
    ("- 5", NO_NUMBER),
    ("5-", NO_NUMBER),
    ("\N{MINUS SIGN}5", NO_NUMBER),
    ("9..3", NO_NUMBER),
    ("9.3.1", NO_NUMBER),
    ("9.3 1", NO_NUMBER),
    ("9,3,1", NO_NUMBER),
    ("1,2345,6", NO_NUMBER),
    ("1_000", NO_NUMBER),
    ("1/2", NO_NUMBER),
    ("50%", NO_NUMBER),
    ("<0.5", NO_NUMBER),
    ("9.3 N", NO_NUMBER),
    ("9.3lbf", NO_NUMBER),
    ("1e3", NO_NUMBER),
    ("0x1F", NO_NUMBER),
    ("NaN", NO_NUMBER),
    ("Infinity", NO_NUMBER),
    ("9.3-000123-K", NO_NUMBER),
    ("SP-000123-N", NO_NUMBER),
    ("\N{ARABIC-INDIC DIGIT NINE}", NO_NUMBER),
    ("9.3\N{DEVANAGARI DIGIT ONE}", NO_NUMBER),
    ("\N{FULLWIDTH DIGIT NINE}", NO_NUMBER),
    ("9\N{SUPERSCRIPT TWO}", NO_NUMBER),
    ("1234567890", NO_NUMBER),
    ("0.1234567890", NO_NUMBER),
    ("9.3\n1", NO_NUMBER),
    ("9.3\x00", NO_NUMBER),
]


@pytest.mark.parametrize(("typed", "printed"), GOOD)
def test_good(typed, printed):
    assert str(parse(typed)) == printed


@pytest.mark.parametrize(("typed", "why"), BAD)
def test_bad(typed, why):
    with pytest.raises(NotANumber, match=why) as refused:
        parse(typed)
    assert str(refused.value).endswith(".")
    assert "Type " in str(refused.value)


numbers = st.decimals(min_value=-999_999_999, max_value=999_999_999, places=9).flatmap(
    lambda number: st.integers(0, 9).map(lambda places: f"{number:.{places}f}")
)


@given(numbers)
def test_what_is_understood_prints_back_as_it_was_typed(text):
    assert f"{parse(text):f}" == text


@given(numbers)
def test_a_comma_is_the_same_number_or_two_ways_of_reading(text):
    whole, _, decimals = text.lstrip("-").partition(".")
    typed = text.replace(".", ",")
    if len(decimals) == 3 and len(whole) <= 3 and whole != "0":
        with pytest.raises(NotANumber, match=TWO_WAYS):
            parse(typed)
    else:
        assert f"{parse(typed):f}" == text


@given(numbers, st.characters(categories=["L", "Nl", "No"]), st.integers(0, 30))
def test_nothing_with_a_letter_is_a_number(text, letter, place):
    assert isinstance(parse(text), Decimal)
    with pytest.raises(NotANumber):
        parse(text[:place] + letter + text[place:])


@given(st.text("0123456789.,-' eN", max_size=12))
def test_any_text_is_a_plain_decimal_or_refused(text):
    try:
        understood = parse(text)
    except NotANumber:
        return
    assert understood == Decimal(text.strip().replace(",", "."))


@pytest.mark.parametrize("typed", ["9.31 furlong", "9.31 x", "9.31"])
def test_what_is_no_unit_stays_for_the_number_to_be_refused(typed):
    assert without_unit(typed, unit="lbf/in") == typed


def test_the_shown_unit_is_taken_off_and_another_is_refused():
    assert without_unit(" 9.31 lbf/in ", unit="lbf/in") == "9.31"
    with pytest.raises(OtherUnit) as caught:
        without_unit("9.31 lbf", unit="lbf/in")
    assert caught.value.unit == "lbf"
