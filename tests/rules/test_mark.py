"""The set-up mark: the same fields give the same mark, any changed field gives another."""

import hashlib
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labrecords.rules.mark import ALPHABET, setup_mark

FIELDS = {
    "Method": "P-3 version 1, after ASTM F88/F88M-23",
    "Technique": "A (tail unsupported)",
    "Grip separation rate": "11 in/min",
    "Specimen width": "25.4 mm, nominal",
    "Moving web": "papier couché",
}


def test_a_mark_printed_once_is_found_again():
    assert setup_mark(FIELDS) == "8426-VF3J-3VF4"


def test_mark_read_back_is_the_digest():
    """A second calculation: the mark's characters are the lowest twelve digits of the digest, to base 20."""
    text = json.dumps(FIELDS, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    digest = int(hashlib.sha256(text.encode()).hexdigest(), 16)
    places = [ALPHABET.index(character) for character in setup_mark(FIELDS).replace("-", "")]
    assert sum(place * 20**power for power, place in enumerate(places)) == digest % 20**12


@pytest.mark.parametrize("name", FIELDS)
@pytest.mark.parametrize("change", [lambda old: old + " ", lambda old: old.upper(), lambda old: ""])
def test_any_changed_field_gives_another_mark(name, change):
    changed = FIELDS | {name: change(FIELDS[name])}
    assert changed != FIELDS
    assert setup_mark(changed) != setup_mark(FIELDS)


@pytest.mark.parametrize("name", FIELDS)
def test_a_field_taken_away_or_renamed_gives_another_mark(name):
    without = {key: text for key, text in FIELDS.items() if key != name}
    assert setup_mark(without) != setup_mark(FIELDS)
    assert setup_mark(without | {f"{name}, as cut": FIELDS[name]}) != setup_mark(FIELDS)


def test_two_fields_that_change_places_give_another_mark():
    assert setup_mark({"fixed": "film", "moving": "paper"}) != setup_mark({"fixed": "paper", "moving": "film"})


@given(st.permutations(list(FIELDS)))
def test_order_is_irrelevant(names):
    assert setup_mark({name: FIELDS[name] for name in names}) == setup_mark(FIELDS)


def test_the_same_letter_written_two_ways_is_the_same_field():
    assert setup_mark(FIELDS | {"Moving web": "papier couche\u0301"}) == setup_mark(FIELDS)


def test_marks_are_three_groups_of_letters_and_digits_not_taken_for_one_another():
    groups = setup_mark(FIELDS).split("-")
    assert [len(group) for group in groups] == [4, 4, 4]
    assert len(set(ALPHABET)) == len(ALPHABET) == 20
    for alike in ("0OQD", "1IL", "5S", "8B", "2Z", "UV"):
        assert len(set(alike) & set(ALPHABET)) <= 1
