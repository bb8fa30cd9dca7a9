"""A scanner passes when every character came as it is printed; otherwise those that did not are named."""

import string

import pytest
from stdnum.iso7064 import mod_37_36

from labrecords.rules.scanner_check import ALPHABET, wrong


def test_the_alphabet_is_that_of_the_check_character():
    """ISO 7064 mod 37,36 as python-stdnum has it: whatever it may give is among the characters that are tried."""
    given = {mod_37_36.calc_check_digit(f"SP{number:06d}") for number in range(1, 2000)}
    assert given == set(ALPHABET)
    assert set(string.digits + string.ascii_uppercase) == set(ALPHABET)


@pytest.mark.parametrize("came", [ALPHABET, ALPHABET.lower(), f" {ALPHABET}\t"])
def test_what_came_right_passes(came):
    assert wrong(came) == []


def test_letters_moved_by_a_keyboard_layout_are_named():
    french = ALPHABET.translate(str.maketrans("AQZWM", "QAWZ;"))
    assert wrong(french) == [
        "A came out as Q.",
        "M came out as ;.",
        "Q came out as A.",
        "W came out as Z.",
        "Z came out as W.",
    ]


@pytest.mark.parametrize(
    ("came", "said"),
    [
        ("", ["Nothing came."]),
        (ALPHABET.replace("M", ""), ["M did not come."]),
        (ALPHABET.replace("K", "K#"), ["# came besides, after K."]),
        ("x" + ALPHABET, ["X came besides, before 0."]),
        (ALPHABET.replace("YZ", "\x1b"), ["Y Z came out as U+001B."]),
        ("ß" + ALPHABET[1:], ["0 came out as ß."]),
    ],
)
def test_what_is_missing_or_too_much_is_named(came, said):
    assert wrong(came) == said
