"""Guessing is slow, and nobody locks anybody else out."""

from dataclasses import replace

import pytest

from labrecords.rules.guessing import Tries, wait_s

NONE = Tries(pair=0, pair_since_s=0, address=0, address_since_s=0, name=0, name_since_s=0, known=False)


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        ({}, 0),
        ({"pair": 4}, 0),
        ({"pair": 5}, 1),
        ({"pair": 8}, 8),
        ({"pair": 8, "pair_since_s": 7.5}, 1),
        ({"pair": 8, "pair_since_s": 8}, 0),
        ({"pair": 15}, 900),
        ({"pair": 10**6}, 900),
        ({"address": 99}, 0),
        ({"address": 100, "address_since_s": 60}, 840),
        ({"name": 99}, 0),
        ({"name": 100}, 900),
        ({"name": 10**6, "known": True}, 0),  # from where the owner has signed in before, others' guesses cost nothing
    ],
)
def test_the_wait(changed, expected):
    assert wait_s(replace(NONE, **changed)) == expected
