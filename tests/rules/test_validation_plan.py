"""A validation study says beforehand who pulls, how strips are dealt, and what must be met."""

import pytest

from labrecords.rules.validation_plan import CROSSED, NESTED, Dealt, Participant, check_validation

LOT = Dealt("L", 6, 4)


def people(count, *, joins=0, authorised=True):
    group = [Participant(f"G{place}", False, authorised) for place in range(count)]
    return group + [Participant(f"J{place}", True, False) for place in range(joins)]


def said(**changed):
    plan = {"design": CROSSED, "people": people(4), "groups": [LOT], "criteria": 1, "limits": 1, "shares": True}
    return [answer.why for answer in check_validation(**plan | changed)]


def test_a_whole_plan_is_good():
    assert said() == []
    assert said(design=NESTED, people=people(3)) == []
    assert said(people=people(2, joins=2), criteria=0, shares=False, limits=0) == []


@pytest.mark.parametrize(
    ("changed", "why"),
    [
        ({"people": people(2)}, "The plan names 2 to pull; a method is validated with 3 people or more."),
        ({"people": people(1, joins=1)}, "Whoever joins is held against 2 people or more; the plan names 1."),
        (
            {"people": people(2, joins=1, authorised=False), "groups": [Dealt("L", 6, 3)]},
            "G0 is not authorised for this technique, so nobody can be held against them.",
        ),
        ({"groups": [Dealt("L", 5, 3)]}, "L: 15 strips among 4 people. Each gets as many as the others, 2 or more."),
        ({"groups": [Dealt("L", 4, 1)]}, "L: 4 strips among 4 people. Each gets as many as the others, 2 or more."),
        ({"design": NESTED}, "L: 6 packs among 4 people. Each gets as many as the others, 2 or more."),
        (
            {"criteria": 0, "shares": False},
            "Nothing must be met but the margin: a method's precision needs a criterion set beforehand.",
        ),
        ({"limits": 0}, "A criterion is a share of the way to a limit, and the plan has no limit."),
    ],
)
def test_what_is_missing_is_said(changed, why):
    assert why in said(**changed)


def test_with_nobody_named_nothing_is_said_of_dealing():
    assert said(people=[]) == ["The plan names 0 to pull; a method is validated with 3 people or more."]


def test_a_group_nobody_joins_needs_no_authorisation():
    assert said(people=people(4, authorised=False)) == []
