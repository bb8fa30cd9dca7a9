"""PINs that are taken, and those that somebody would guess."""

import pytest

from labrecords.rules import badge


@pytest.mark.parametrize("pin", ["482915", "907313", "112358", "135790135792", "120120"])
def test_a_pin_that_is_taken(pin):
    assert badge.problem(pin, label="PB-000123-E") == ""


@pytest.mark.parametrize(
    ("pin", "words"),
    [
        ("", "digits and nothing else"),
        ("48291a", "digits and nothing else"),
        ("48291 5", "digits and nothing else"),
        ("٤٨٢٩١٥", "digits and nothing else"),  # digits, but of no keypad here
        ("48291", "6 to 12 digits; this one has 5"),
        ("4829154829154", "this one has 13"),
        ("111111", "3 different"),
        ("121212", "3 different"),
        ("123456", "counted up or down"),
        ("987654", "counted up or down"),
        ("789012", "counted up or down"),
        ("246802", "counted up or down"),
        ("000123", "badge's code"),
    ],
)
def test_a_pin_that_is_not(pin, words):
    assert words in badge.problem(pin, label="PB-000123-E")


def test_ten_failures_use_a_pin_up():
    assert [badge.is_used_up(count) for count in (0, 9, 10, 11)] == [False, False, True, True]
