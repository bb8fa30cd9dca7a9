"""Who agrees with the others, and what a validation study has shown."""

import pytest

from labrecords.rules.agreement import Held, Met, Standing, among, joining, met, passed, verdict

MARGIN = 0.1


def held(low, high, material="L"):
    return Held(material, (low + high) / 2, low, high, "between packs")


UNKNOWN = Held("L", None, None, None, "", "no values")


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([held(-0.05, 0.09)], "agrees"),
        ([held(-0.05, 0.1)], "not shown to agree"),  # an interval that reaches the margin is not within it
        ([held(0.1, 0.2)], "reads high"),
        ([held(-0.3, -0.1)], "reads low"),
        ([held(0.05, 0.2)], "not shown to agree"),
        ([held(-0.01, 0.01, "L1"), held(0.11, 0.2, "L2")], "reads high"),
        ([held(-0.2, -0.15, "L1"), held(-0.01, 0.01, "L2")], "reads low"),
        ([held(-0.01, 0.01, "L1"), UNKNOWN], "not shown to agree"),
        ([], "not shown to agree"),
    ],
)
def test_verdict(rows, expected):
    assert verdict(rows, MARGIN) == expected


def comparing(means):
    """Compare by means alone, with an interval of 0.02 to either side."""

    def compare(person, others):
        rest = sum(means[other] for other in others) / len(others)
        return (held(means[person] - rest - 0.02, means[person] - rest + 0.02),)

    return compare


def by_name(standings):
    return {one.person: (one.verdict, one.apart) for one in standings}


def test_where_everybody_agrees_nobody_is_set_apart():
    means = {"Ann": 1.50, "Bo": 1.51, "Cy": 1.49, "Di": 1.50}
    assert set(by_name(among(list(means), comparing(means), MARGIN)).values()) == {("agrees", None)}


def test_one_who_reads_high_pulls_the_rest_along_and_is_set_apart_alone():
    means = {"Ann": 1.50, "Bo": 1.51, "Cy": 1.49, "Di": 1.80}
    assert by_name(among(list(means), comparing(means), MARGIN)) == {
        "Ann": ("agrees", None),
        "Bo": ("agrees", None),
        "Cy": ("agrees", None),
        "Di": ("reads high", 1),
    }
    # against all the rest, as if nobody had been set apart, Ann would not agree: 1.50 - 1.60 = -0.10
    assert verdict(comparing(means)("Ann", ["Bo", "Cy", "Di"]), MARGIN) == "not shown to agree"


def test_two_are_set_apart_the_furthest_first():
    means = {"Ann": 1.50, "Bo": 1.51, "Cy": 1.49, "Di": 1.80, "Ed": 1.20}
    found = by_name(among(list(means), comparing(means), MARGIN))
    assert (found["Di"], found["Ed"]) == (("reads high", 1), ("reads low", 2))
    assert {found[name] for name in ("Ann", "Bo", "Cy")} == {("agrees", None)}


def test_three_are_not_made_fewer():
    means = {"Ann": 1.50, "Bo": 1.51, "Cy": 1.80}
    found = by_name(among(list(means), comparing(means), MARGIN))
    assert found == {"Ann": ("reads low", None), "Bo": ("reads low", None), "Cy": ("reads high", None)}


def test_whoever_was_set_apart_does_not_come_back_by_the_mean_of_those_who_stayed():
    answers = {"Ann": iter([0.15, 0.0]), "Bo": iter([0.0] * 9), "Cy": iter([0.0] * 9), "Di": iter([0.0] * 9)}

    def compare(person, others):
        middle = next(answers[person])
        return (held(middle - 0.01, middle + 0.01),)

    assert by_name(among(list(answers), compare, MARGIN))["Ann"] == ("not shown to agree", 1)


def test_without_numbers_the_one_without_is_set_apart_first():
    means = {"Ann": 1.50, "Bo": 1.51, "Cy": 1.49, "Di": 1.80}
    good = comparing(means)
    found = by_name(
        among(list(means), lambda person, others: (UNKNOWN,) if person == "Bo" else good(person, others), MARGIN)
    )
    assert found["Bo"] == ("not shown to agree", 1)


def test_newcomers_are_held_against_the_group_which_is_not_on_trial():
    means = {"Ann": 1.50, "Bo": 1.51, "New": 1.52, "Other": 1.90}
    found = by_name(joining(["Ann", "Bo"], ["New", "Other"], comparing(means), MARGIN))
    assert found == {"New": ("agrees", None), "Other": ("reads high", None)}


@pytest.mark.parametrize(
    ("kind", "percent", "criterion", "expected"),
    [
        ("repeatability", 5.0, "5", True),
        ("repeatability", 5.01, "5", False),
        ("limit share", 29.9, "30", True),
        ("modes", 90.0, "90", True),
        ("modes", 89.9, "90", False),
        ("intermediate", None, "5", None),
    ],
)
def test_a_criterion_is_a_most_or_a_least(kind, percent, criterion, expected):
    from decimal import Decimal

    assert met(kind, percent, Decimal(criterion)) is expected


def standings(*verdicts):
    return [Standing(f"P{place}", (), word) for place, word in enumerate(verdicts)]


GOOD, MISSED, UNJUDGED = Met("L", 4.0, True), Met("L", 9.0, False), Met("L", None, None, "why")


@pytest.mark.parametrize(
    ("people", "rows", "adding", "expected", "words"),
    [
        (["agrees"] * 3, [GOOD], False, True, "Every criterion is met."),
        (["agrees"] * 3 + ["reads high"], [GOOD], False, True, "Every criterion is met."),
        (["agrees"] * 2, [GOOD], False, False, "2 agree with one another"),
        (["agrees"] * 3, [GOOD, MISSED], False, False, "Not met: spread."),
        (["agrees"] * 3, [UNJUDGED], False, None, "cannot be judged"),
        (["agrees"], [], True, True, "Every criterion is met."),
        (["reads low"], [], True, False, "Nobody who was to join"),
    ],
)
def test_what_a_study_has_shown(people, rows, adding, expected, words):
    found, why = passed(standings(*people), {"spread": rows} if rows else {}, adding=adding)
    assert found is expected
    assert words in why
