"""Bounds and verdicts where some values could not be measured: nothing is promised that is not known."""

from decimal import Decimal
from types import SimpleNamespace

import pytest

from labrecords.queries.bounds import Bound, tolerance_bound
from labrecords.queries.numbers import Line
from labrecords.queries.verdicts import judged
from labrecords.reports.digits import beside, lower, upper

STUDY = SimpleNamespace(
    coverage=Decimal("0.95"), confidence=Decimal("0.95"), decision_rule="every value", bound_rule="normal model"
)


def line(value, censored="", end=None, pack=1):
    result = SimpleNamespace(
        strength=None if value is None else Decimal(value),
        censored=censored,
        censored_at=None if end is None else Decimal(end),
    )
    return Line(SimpleNamespace(pack_id=pack), result, void=False, set_aside=False, waiting=False)


def bound(lines, *, side="lower", whole_packs=False):
    return tolerance_bound(STUDY, lines, side=side, whole_packs=whole_packs).value


def spread(count):
    return [line(f"{1 + number / 100:.2f}") for number in range(count)]


def test_equal_values_promise_nothing():
    assert bound([line("1.5"), line("1.5")]) is None


def test_a_bound_below_nothing_promises_nothing():
    assert bound([line(text) for text in ("1", "2", "3", "4")]) is None


def test_the_smallest_of_fifty_nine_is_a_bound_with_a_stronger_one_beside():
    # 59 values for 95/95 without a model: the zero-failure sample size, NIST/SEMATECH e-Handbook, from memory
    assert bound([*spread(59), line("60", "above", "50")]) == pytest.approx(1.0)


def test_an_above_value_stands_at_the_end_it_surpassed_and_no_higher():
    assert bound([*spread(59), line("9", "above", "0.5")]) == pytest.approx(0.5)


def test_an_opened_seal_among_sixty_leaves_none():
    assert bound([*spread(59), line(None, "below")]) is None


def test_each_pack_speaks_with_its_weakest():
    packs = [line("1.2", pack=1), line("1.6", pack=1), line("1.3", pack=2), line("1.9", pack=2), line("1.25", pack=3)]
    alone = [line(text) for text in ("1.2", "1.3", "1.25")]
    assert bound(packs, whole_packs=True) == bound(alone)


def test_an_upper_bound_is_the_lower_one_of_the_values_turned_round():
    values = [line(text) for text in ("1.2", "1.4", "1.6", "1.8")]
    # one-sided 95/95 factor for n = 4: 5.1439 (exact; agrees with ISO 16269-6 tables, from memory)
    assert bound(values, side="upper") == pytest.approx(1.5 + 5.1439 * (0.2 / 3) ** 0.5, abs=1e-4)
    packs = [line("1.2", pack=1), line("1.4", pack=1), line("1.6", pack=2), line("1.5", pack=2), line("1.8", pack=3)]
    alone = [line(text) for text in ("1.4", "1.6", "1.8")]
    assert bound(packs, side="upper", whole_packs=True) == bound(alone, side="upper")


def test_an_upper_bound_from_the_order_of_the_values():
    assert bound([*spread(59), line(None, "below")], side="upper") == pytest.approx(1.58)
    assert bound([*spread(59), line("60", "above", "50")], side="upper") is None
    packs = [line(f"{1 + number / 100:.2f}", pack=number) for number in range(60)]
    opened = line(None, "below", pack=0)
    assert bound([*packs, opened], side="upper", whole_packs=True) == bound(packs, side="upper")


LOWER, UPPER = SimpleNamespace(side="lower"), SimpleNamespace(side="upper")


@pytest.mark.parametrize(
    ("item", "limit", "value", "met"),
    [
        (line("60", "above", "5"), LOWER, "6", None),
        (line("60", "above", "5"), LOWER, "5", True),
        (line("60", "above", "5"), UPPER, "6", None),
        (line("0.1", "below", "0.5"), UPPER, "0.4", None),
        (line("0.1", "below", "0.5"), UPPER, "0.5", True),
        (line("0.1", "below", "0.5"), LOWER, "0.4", None),
        (line(None, "below"), UPPER, "0.4", True),
    ],
)
def test_a_value_that_may_lie_on_either_side_decides_nothing(item, limit, value, met):
    assert judged(STUDY, [item], limit, Decimal(value), Bound(None, ""), 0)[0] is met


def test_a_promise_is_not_rounded_up():
    assert lower(0.9962, 2) == "0.99"


def test_an_upper_promise_is_not_rounded_down():
    assert upper(0.9912, 2) == "1.00"


@pytest.mark.parametrize(
    ("value", "limits", "printed"),
    [
        ("0.996", ["1"], "0.996"),
        ("0.994", ["1"], "0.99"),
        ("1.000", ["1"], "1.00"),
        ("1.004", ["1"], "1.004"),
        ("2.004", ["1", "2.00"], "2.004"),
        ("-0.001", [], "0.00"),
        ("0.9960000", ["1"], "0.996"),
    ],
)
def test_rounding_puts_no_value_on_the_other_side_of_a_limit_or_on_it(value, limits, printed):
    assert beside(Decimal(value), 2, [Decimal(limit) for limit in limits]) == printed
