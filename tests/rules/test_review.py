"""Reviewers and signers: three different people stand behind a report."""

import pytest

from labrecords.rules.answers import codes
from labrecords.rules.review import check_reviewer, check_signer

TESTERS = ("Runa Vik", "Timo Aalto")


@pytest.mark.parametrize(
    ("reviewer", "waiting", "expected"),
    [
        ("Sefa Brandt", 0, ()),
        ("Runa Vik", 0, ("same-person",)),
        ("Timo Aalto", 0, ("same-person",)),
        ("Sefa Brandt", 1, ("decisions-open",)),
        ("Timo Aalto", 2, ("same-person", "decisions-open")),
    ],
)
def test_reviewer(reviewer, waiting, expected):
    assert codes(check_reviewer(reviewer=reviewer, testers=TESTERS, open_decisions=waiting)) == expected


@pytest.mark.parametrize(
    ("waiting", "words"), [(1, "1 deviation waits for a decision."), (2, "2 deviations wait for a decision.")]
)
def test_deviations_are_counted_in_words(waiting, words):
    [answer] = check_reviewer(reviewer="Sefa Brandt", testers=TESTERS, open_decisions=waiting)
    assert answer.why == words


@pytest.mark.parametrize(
    ("signer", "reviewer", "why"),
    [
        ("Signe Holm", "Sefa Brandt", None),
        ("Runa Vik", "Sefa Brandt", "Runa Vik tested in this study."),
        ("Sefa Brandt", "Sefa Brandt", "Sefa Brandt reviewed this study."),
        ("Runa Vik", "Runa Vik", "Runa Vik tested in this study."),
    ],
)
def test_signer(signer, reviewer, why):
    answers = check_signer(signer=signer, testers=TESTERS, reviewer=reviewer)
    assert codes(answers) == (("same-person",) if why else ())
    assert [answer.why for answer in answers] == ([why] if why else [])
