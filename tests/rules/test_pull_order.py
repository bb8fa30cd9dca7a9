"""Strips dealt and ordered by chance: balanced, the same again from the seed, and what is said of other orders."""

import hashlib
from collections import Counter

from hypothesis import given
from hypothesis import strategies as st

from labrecords.rules.answers import codes
from labrecords.rules.facts import Validation
from labrecords.rules.pull_order import check_drawn, check_order, draw

PEOPLE = ["ann", "bo", "cy", "di"]


def packs(count, strips, first=0):
    return {f"PK-{first + p}": [f"SP-{first + p}-{s}" for s in range(strips)] for p in range(count)}


def dealt(places):
    return {place.strip: place.person for place in places}


@given(seed=st.text(max_size=20), rounds=st.integers(1, 3), count=st.integers(1, 6))
def test_crossed_each_pack_gives_everybody_as_many(seed, rounds, count):
    group = packs(count, rounds * len(PEOPLE))
    found = dealt(draw(seed, design="crossed", groups=[group], people=PEOPLE))
    for strips in group.values():
        assert Counter(found[strip] for strip in strips) == dict.fromkeys(PEOPLE, rounds)


@given(seed=st.text(max_size=20), rounds=st.integers(1, 4))
def test_crossed_with_single_strips_everybody_gets_as_many_of_each_group(seed, rounds):
    groups = [packs(rounds * len(PEOPLE), 1), packs(rounds * len(PEOPLE), 1, first=500)]
    found = dealt(draw(seed, design="crossed", groups=groups, people=PEOPLE))
    for group in groups:
        assert Counter(found[strip] for (strip,) in group.values()) == dict.fromkeys(PEOPLE, rounds)


@given(seed=st.text(max_size=20), rounds=st.integers(1, 3))
def test_nested_a_pack_goes_to_one_person_as_a_whole(seed, rounds):
    group = packs(rounds * len(PEOPLE), 3)
    found = dealt(draw(seed, design="nested", groups=[group], people=PEOPLE))
    owners = [{found[strip] for strip in strips} for strips in group.values()]
    assert all(len(owner) == 1 for owner in owners)
    assert Counter(name for owner in owners for name in owner) == dict.fromkeys(PEOPLE, rounds)


@given(seed=st.text(max_size=20))
def test_each_strip_has_one_place_and_each_person_s_places_count_up(seed):
    groups = [packs(4, 4), packs(4, 4, first=500)]
    places = draw(seed, design="crossed", groups=groups, people=PEOPLE)
    assert sorted(place.strip for place in places) == sorted(s for group in groups for p in group.values() for s in p)
    for person in PEOPLE:
        assert [place.number for place in places if place.person == person] == list(range(1, 9))


def test_the_same_seed_gives_the_same_order_and_another_another():
    asked = {"design": "crossed", "groups": [packs(6, 4)], "people": PEOPLE}
    assert draw("41", **asked) == draw("41", **asked | {"people": PEOPLE[::-1]})
    assert draw("41", **asked) != draw("42", **asked)


def test_a_person_s_order_is_that_of_the_hash_of_seed_and_label():
    places = draw("41", design="crossed", groups=[packs(6, 4)], people=PEOPLE)
    mine = [place.strip for place in places if place.person == "ann"]
    # FIPS 180-4 names SHA-256; the order is that of the digests, which any program can make again
    assert mine == sorted(mine, key=lambda strip: hashlib.sha256(f"41 order {strip}".encode()).hexdigest())


def test_over_many_seeds_everybody_gets_each_strip_about_as_often():
    group = packs(2, 4)
    counts = Counter(
        dealt(draw(str(seed), design="crossed", groups=[group], people=PEOPLE))["SP-0-0"] for seed in range(2000)
    )
    # four equal chances: 500 each, standard deviation 19.4 (binomial); five of them is seldom chance
    assert all(abs(counts[name] - 500) < 97 for name in PEOPLE)


def test_a_study_that_validates_nobody_is_asked_for_no_order():
    assert check_drawn(None) == check_order(None, person="Ann") == []


def test_without_a_drawn_order_nothing_is_pulled():
    validation = Validation(takes_part=True, drawn=False)
    assert codes(check_drawn(validation)) == ("order-not-drawn",)
    assert check_order(validation, person="Ann") == []


def test_a_strip_is_pulled_by_the_person_and_at_the_place_that_were_drawn():
    good = Validation(takes_part=True, drawn=True, dealt_to="Ann")
    assert check_drawn(good) == check_order(good, person="Ann") == []
    (other,) = check_order(good, person="Bo")
    assert (other.code, other.why) == ("not-as-drawn", "The strip was dealt to Ann, and Bo pulled it.")
    (early,) = check_order(Validation(True, True, "Ann", ahead=1), person="Ann")
    assert (early.code, early.why) == ("not-as-drawn", "1 strip of Ann should have been pulled before it.")
    assert "2 strips" in check_order(Validation(True, True, "Ann", ahead=2), person="Ann")[0].why
    assert "nobody" in check_order(Validation(True, True), person="Ann")[0].why
