"""What differs, what changes in step, and what a person is told to do about it."""

import pytest

from labrecords.rules import what_changed

FIRST, SECOND = [False, False, True, True], [True, True, True, True]


def ranked(**factors):
    return what_changed.rank(FIRST, {label.replace("_", " "): levels for label, levels in factors.items()})


def test_what_changed_altogether_comes_first_and_the_weightier_before_the_lighter():
    found = ranked(Room="aabb", Load_cell="aabb", Lot="abbb", Tester="aaaa")
    assert [(one.label, one.how) for one in found] == [
        ("Load cell", "altogether"),
        ("Room", "altogether"),
        ("Lot", "in part"),
        ("Tester", "not at all"),
    ]
    assert (found[0].before, found[0].after) == (("a",), ("b",))


def test_factors_that_change_in_step_cannot_be_told_apart():
    factors = {"Load cell": "aabb", "Tested by": "xxyy", "Lot": "abab", "Room": "cccc", "Humidity": "dddd"}
    assert what_changed.inseparable(factors) == (("Load cell", "Tested by"),)


def test_suspects_are_what_changed_altogether_else_in_part():
    assert what_changed.suspects(ranked(Load_cell="aabb", Lot="abbb")) == ["Load cell"]
    assert what_changed.suspects(ranked(Load_cell="aaaa", Lot="abbb")) == ["Lot"]
    assert what_changed.suspects(ranked(Day="aabb")) == []  # a day does nothing; what came with it does


def test_no_more_than_three_tests_are_asked_for():
    assert len(what_changed.tests(["Load cell", "Tester", "Tested by", "Lot"])) == 3
    assert "check mass on both cells" in what_changed.tests(["Load cell"])[0]


@pytest.mark.parametrize(
    ("factors", "words"),
    [
        ({"Load_cell": "aabb"}, "One thing changed altogether between the two groups: load cell."),
        ({"Load_cell": "aabb", "Lot": "aabb"}, "load cell and lot changed together: these data cannot tell which"),
        ({"Lot": "abbb"}, "Nothing on record changed altogether"),
    ],
)
def test_the_sentence_says_where_to_look(factors, words):
    assert words in what_changed.said(ranked(**factors))
