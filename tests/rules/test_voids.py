"""Voids and replacements: causes, words, low values, and the cap."""

from decimal import Decimal

import pytest

from labrecords.rules.answers import codes
from labrecords.rules.voids import check_replacement, check_void, is_weighty

GOOD = {
    "cause": "slip",
    "causes": ("slip", "cut"),
    "words": "The strip slid out of the lower grip.",
    "already": False,
    "weighty": False,
    "may_void_low": False,
}


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        ({}, ()),
        ({"cause": "cut"}, ()),
        ({"cause": "too weak"}, ("cause-unknown",)),
        ({"cause": ""}, ("cause-unknown",)),
        ({"words": ""}, ("words-missing",)),
        ({"words": " \n"}, ("words-missing",)),
        ({"already": True}, ("already-void",)),
        ({"weighty": True}, ("void-needs-manager",)),
        ({"weighty": True, "may_void_low": True}, ()),
        (
            {"cause": "?", "words": "", "already": True, "weighty": True},
            ("already-void", "cause-unknown", "words-missing", "void-needs-manager"),
        ),
    ],
)
def test_void(changed, expected):
    assert codes(check_void(**GOOD | changed)) == expected


OPENED = None


@pytest.mark.parametrize(
    ("value", "outside", "others", "expected"),
    [
        ("1.20", False, ["1.10", "1.40"], False),
        ("1.20", True, ["1.10", "1.40"], True),
        ("1.05", False, ["1.10", "1.40"], True),
        ("1.10", False, ["1.10", "1.40"], True),
        ("1.10", False, [OPENED, "1.40"], True),
        ("1.50", False, [OPENED, "1.40"], False),
        ("1.50", False, [OPENED], True),
        ("1.50", False, [], True),
        (OPENED, False, [], True),
        (OPENED, False, ["0.10"], True),
    ],
)
def test_a_weighty_value_lies_outside_a_limit_or_is_the_lowest_measured_of_its_lot(value, outside, others, expected):
    assert is_weighty(_decimal(value), outside=outside, others=map(_decimal, others)) is expected


def _decimal(text):
    return None if text is OPENED else Decimal(text)


@pytest.mark.parametrize(
    ("replaced", "is_void", "expected"),
    [
        (0, True, ()),
        (1, True, ()),
        (2, True, ("replacements-spent",)),
        (3, True, ("replacements-spent",)),
        (0, False, ("state-refused",)),
        (2, False, ("state-refused",)),
    ],
)
def test_replacement(replaced, is_void, expected):
    assert codes(check_replacement(replaced=replaced, cap=2, is_void=is_void, label="SP-000123-N")) == expected


def test_a_cap_of_none_allows_none():
    assert codes(check_replacement(replaced=0, cap=0, is_void=True, label="SP-000123-N")) == ("replacements-spent",)
