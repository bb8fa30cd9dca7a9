"""The warning that a client's earlier studies were taken another way."""

from decimal import Decimal

import pytest

from labrecords.actions import studies
from labrecords.queries.setups import earlier_differences
from tests import world as cast


@pytest.fixture
def world(laboratory):
    return laboratory


@pytest.mark.parametrize(
    ("changed", "warned"),
    [
        ({}, False),
        ({"rate": Decimal("279.4"), "rate_unit": "mm/min"}, False),  # 11 in/min exactly
        ({"rate": Decimal("12")}, True),
        ({"technique": "C"}, True),
    ],
)
def test_a_draft_is_held_against_what_was_locked_before(world, changed, warned):
    assert bool(earlier_differences(cast.plan(world, **changed))) is warned


def test_what_is_locked_later_does_not_warn_on_an_older_study(world):
    later = cast.plan(world, technique="C")
    studies.lock(study=later, by=world.edda, at=world.at)
    assert earlier_differences(world.study) == []
