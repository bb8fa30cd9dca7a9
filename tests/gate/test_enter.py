"""The gate, through the action: kept, marked, held, refused."""

import pytest

from labrecords.models import Entry, Event, Result
from tests import world as cast


@pytest.fixture
def world(laboratory):
    return laboratory


def test_a_good_result_is_kept(world):
    kept = cast.enter(world)
    assert kept.marks == ()
    assert Result.objects.count() == 1
    assert Entry.objects.get().result == kept.result
    assert Event.objects.filter(act="result.kept").count() == 1
