"""What the demo expects to be refused is refused for that reason, or the demo is not built."""

import pytest

from labrecords.actions.refusals import Refused
from labrecords.management.demo.tries import NotRefused, refused_with
from labrecords.rules.answers import Answer


def refuse():
    raise Refused(None, [Answer("specimen-done", "It has a result.")])


def test_the_expected_refusal_passes():
    refused_with(["specimen-done"], refuse)


def test_another_reason_does_not_pass():
    with pytest.raises(NotRefused, match="specimen-done"):
        refused_with(["not-authorised"], refuse)


def test_what_is_done_does_not_pass():
    with pytest.raises(NotRefused, match="was done"):
        refused_with(["specimen-done"], lambda: None)
