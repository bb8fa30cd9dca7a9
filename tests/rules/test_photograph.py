"""What may be attached to a result as a photograph of its strip."""

from dataclasses import replace

import pytest

from labrecords.rules.answers import codes
from labrecords.rules.photograph import Sent, check_sent

SOUND = Sent(name="strip.jpg", specimen="SP-000001-A", problem="", kept_with="", tested=True)


def test_a_picture_of_a_tested_strip():
    assert check_sent(SOUND) == []


@pytest.mark.parametrize(
    ("differs", "code", "said"),
    [
        ({"tested": False}, "photograph-too-early", "SP-000001-A has no result"),
        ({"problem": "strip.jpg is no picture."}, "photograph-unreadable", "strip.jpg is no picture."),
        ({"kept_with": "SP-000002-B"}, "photograph-kept", "the same bytes as a photograph of SP-000002-B"),
    ],
)
def test_what_stands_against_it(differs, code, said):
    (answer,) = check_sent(replace(SOUND, **differs))
    assert answer.code == code
    assert said in answer.why


def test_every_reason_is_told_at_once():
    told = check_sent(replace(SOUND, tested=False, problem="It is no picture.", kept_with="SP-000002-B"))
    assert codes(told) == ("photograph-too-early", "photograph-unreadable", "photograph-kept")
