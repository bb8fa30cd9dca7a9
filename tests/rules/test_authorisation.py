"""Whether a person was authorised on the day of a test, first and last days included."""

from datetime import date

import pytest

from labrecords.rules.answers import codes
from labrecords.rules.authorisation import check_authorised
from labrecords.rules.facts import Authorisation

MAY = {day: date(2026, 5, day) for day in range(1, 32)}


def held(from_day, until_day, *, withdrawn=None, technique="A"):
    return Authorisation(technique, MAY[from_day], MAY[until_day], MAY[withdrawn] if withdrawn else None)


ALLOWED = [
    ("within", [held(1, 31)]),
    ("first day", [held(20, 31)]),
    ("last day", [held(1, 20)]),
    ("one day only", [held(20, 20)]),
    ("withdrawn from tomorrow", [held(1, 31, withdrawn=21)]),
    ("renewed", [held(1, 10), held(11, 31)]),
    ("withdrawn and given again", [held(1, 31, withdrawn=5), held(15, 31)]),
    ("another technique beside it", [held(1, 2, technique="B"), held(1, 31)]),
]
NOT_ALLOWED = [
    ("none", [], "has no authorisation"),
    ("another technique only", [held(1, 31, technique="B")], "has no authorisation"),
    ("ended yesterday", [held(1, 19)], "ended on 19 May 2026."),
    ("from tomorrow", [held(21, 31)], "does not cover 20 May 2026."),
    ("in a gap", [held(1, 10), held(25, 31)], "does not cover 20 May 2026."),
    ("withdrawn from today", [held(1, 31, withdrawn=20)], "ended on 19 May 2026."),
    ("withdrawn long ago", [held(1, 31, withdrawn=5)], "ended on 4 May 2026."),
    ("withdrawn after its end", [held(1, 10, withdrawn=15)], "ended on 10 May 2026."),
]


@pytest.mark.parametrize("authorisations", [case[1] for case in ALLOWED], ids=[case[0] for case in ALLOWED])
def test_authorised(authorisations):
    assert check_authorised(authorisations, person="Runa Vik", technique="A", on=MAY[20]) == []


@pytest.mark.parametrize(
    ("authorisations", "why"), [case[1:] for case in NOT_ALLOWED], ids=[case[0] for case in NOT_ALLOWED]
)
def test_not_authorised(authorisations, why):
    answers = check_authorised(iter(authorisations), person="Runa Vik", technique="A", on=MAY[20])
    assert codes(answers) == ("not-authorised",)
    assert why in answers[0].why
    assert answers[0].facts == {"person": "Runa Vik", "technique": "A", "on": "2026-05-20"}
