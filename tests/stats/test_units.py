from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labrecords.stats import units

NUMBERS = st.floats(min_value=-1e6, max_value=1e6, allow_nan=False)
PAIRS = st.sampled_from(units.KINDS).flatmap(
    lambda kind: st.tuples(st.sampled_from(units.known(kind)), st.sampled_from(units.known(kind)))
)


@given(value=NUMBERS, pair=PAIRS)
def test_there_and_back(value, pair):
    there = units.exact(Decimal(value), *pair)
    back = units.convert(units.convert(value, *pair), pair[1], pair[0])
    assert float(there) == units.convert(value, *pair)
    assert back == pytest.approx(value, rel=1e-13, abs=1e-12)


@given(value=NUMBERS, pair=PAIRS)
def test_a_unit_to_itself_changes_nothing(value, pair):
    assert units.convert(value, pair[0], pair[0]) == value


@given(numbers=st.tuples(NUMBERS, NUMBERS), pair=PAIRS)
def test_order_is_kept(numbers, pair):
    low, high = sorted(numbers)
    assert units.convert(low, *pair) <= units.convert(high, *pair)


def test_every_force_per_width_is_known():
    assert len(units.known("force per width")) == 6 * 7
    assert {"lbf/in", "N/15mm", "gf/25.4mm", "ozf/in"} <= set(units.known("force per width"))


@pytest.mark.parametrize(
    ("spelling", "unit"),
    [
        ("N/15 mm", "N/15mm"),
        ("lbf/25.4 mm", "lbf/25.4mm"),
        ("°C", "C"),
        ("°F", "F"),
        ("um", "µm"),
        ("\u03bcm", "µm"),
    ],
)
def test_other_spellings(spelling, unit):
    assert units.same("20", spelling, "20", unit)


@pytest.mark.parametrize("unit", ["lb/in", "n/15mm", "N/15", "N / 15mm", "pli", "", "inch", None, ["N"]])
def test_unknown_units_are_refused_with_the_known_ones(unit):
    with pytest.raises(ValueError, match=r"to_unit must be a unit of force per width: N, .*gf.*15mm.*; got "):
        units.convert(1, "lbf/in", unit)
    with pytest.raises(ValueError, match=r"from_unit must be a unit of rate: mm/min, .*in/min; got "):
        units.convert(1, unit, "mm/min")
    with pytest.raises(
        ValueError, match=r"unit must be a unit of force per width.*or of force.*temperature: C, F; got"
    ):
        units.kind_of(unit)


@pytest.mark.parametrize(("from_unit", "to_unit"), [("N", "N/mm"), ("mm", "mm/min"), ("C", "in")])
def test_different_kinds_are_refused(from_unit, to_unit):
    with pytest.raises(ValueError, match=r"from_unit and to_unit must measure the same; got "):
        units.convert(1, from_unit, to_unit)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), "1", None, True])
def test_convert_refuses_what_is_no_number(value):
    with pytest.raises(ValueError, match=r"value must be a finite number; got "):
        units.convert(value, "N", "lbf")


def test_stated_quantities_are_compared_exactly():
    assert units.same("12", "in/min", "304.8", "mm/min")
    assert not units.same("12", "in/min", "304.80000000000001", "mm/min")
    assert units.same(Decimal("304.80"), "mm/min", 12, "in/min")
    assert units.same("5.08", "mm/s", "304.8", "mm/min")
    assert units.exact("73.4", "F", "C") == 23
    assert units.exact("1", "N/15mm", "lbf/in") < Fraction("0.38068")
    assert units.convert(0.1, "N", "N") != units.exact("0.1", "N", "N")  # why floats are refused


@pytest.mark.parametrize("value", [304.8, True, None, "twelve", "12,5", "NaN", "Infinity", ""])
def test_what_was_not_stated_exactly_is_refused(value):
    with pytest.raises(ValueError, match=r"value must be a (finite )?decimal number.*; got "):
        units.exact(value, "mm/min", "in/min")
    with pytest.raises(ValueError, match=r"value_b must be a (finite )?decimal number.*; got "):
        units.same("12", "in/min", value, "mm/min")


def test_same_refuses_different_kinds():
    with pytest.raises(ValueError, match="must measure the same"):
        units.same("1", "N", "1", "mm")


def test_factor_for_arrays():
    assert units.factor("lbf", "N") == 4.4482216152605
    with pytest.raises(ValueError, match=r"from_unit must be a unit with a common zero; got 'C'"):
        units.factor("C", "F")


def test_known_refuses_other_kinds():
    with pytest.raises(ValueError, match=r"kind must be one of force per width, force, .*; got 'mass'\."):
        units.known("mass")


@given(force=NUMBERS, width=st.floats(min_value=1, max_value=100))
def test_strength_is_force_over_width(force, width):
    assert units.strength(force, width, "N/mm") == pytest.approx(force / width, rel=1e-15)
    assert units.strength(force, width, "N/15mm") == pytest.approx(15 * force / width, rel=1e-15)


@pytest.mark.parametrize(
    ("force", "width", "unit", "sentence"),
    [
        (1, 0, "N/mm", r"width_mm must be above 0; got 0\."),
        (1, -15, "N/mm", r"width_mm must be above 0; got -15\."),
        (float("nan"), 15, "N/mm", r"force_n must be a finite number; got nan\."),
        (1, 15, "N", r"must measure the same"),
    ],
)
def test_strength_refuses(force, width, unit, sentence):
    with pytest.raises(ValueError, match=sentence):
        units.strength(force, width, unit)
