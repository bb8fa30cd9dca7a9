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


def test_studies_that_differ_alike_are_named_in_one_sentence(world):
    plate = {"technique": "C"}
    other = studies.lock(study=cast.plan(world), by=world.edda, at=world.at)
    [sentence] = earlier_differences(cast.plan(world, **plate))
    assert world.study.code in sentence
    assert f" and {other.code} used technique A" in sentence or f" and {world.study.code} used technique A" in sentence
    assert "Their forces" in sentence
    faster = studies.lock(study=cast.plan(world, rate=Decimal("12")), by=world.edda, at=world.at)
    found = earlier_differences(cast.plan(world, **plate))
    [alone] = [said for said in found if faster.code in said]
    assert alone.startswith(f"{faster.code} used technique A (tail unsupported) instead of C")
    assert "Its forces" in alone
    assert len(found) == 2


def test_what_is_locked_later_does_not_warn_on_an_older_study(world):
    later = cast.plan(world, technique="C")
    studies.lock(study=later, by=world.edda, at=world.at)
    assert earlier_differences(world.study) == []
