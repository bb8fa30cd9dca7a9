"""Bounds and verdicts where some values could not be measured: nothing is promised that is not known."""

from decimal import Decimal
from types import SimpleNamespace

import pytest

from labrecords.queries.numbers import Line, lower_bound
from labrecords.queries.numbers import _judged as judged
from labrecords.reports.digits import lower

STUDY = SimpleNamespace(coverage=Decimal("0.95"), confidence=Decimal("0.95"), decision_rule="every value")


def line(value, censored="", end=None, pack=1):
    result = SimpleNamespace(
        strength=None if value is None else Decimal(value),
        censored=censored,
        censored_at=None if end is None else Decimal(end),
    )
    return Line(SimpleNamespace(pack_id=pack), result, void=False, set_aside=False, waiting=False)


def bound(lines, *, whole_packs=False):
    return lower_bound(STUDY, lines, whole_packs=whole_packs).value


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
    from labrecords.queries.numbers import Bound

    assert judged(STUDY, [item], limit, Decimal(value), Bound(None, ""), 0)[0] is met


def test_a_promise_is_not_rounded_up():
    assert lower(0.9962, 2) == "0.99"
