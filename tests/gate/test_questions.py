"""What an entry asks of the database: as much as it must, and no more for a study of many results."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from labrecords.queries import lab
from tests import world as cast

MOST = 26  # each costs the technician at the bench a millisecond or more


@pytest.fixture
def world(laboratory):
    return laboratory


def asked(world, **entry) -> list[str]:
    with CaptureQueriesContext(connection) as caught:
        cast.enter(world, **entry)
    return [query["sql"] for query in caught.captured_queries]


def test_an_entry_asks_few_questions(world):
    questions = asked(world)
    assert len(questions) <= MOST, "\n".join(questions)
    for once in ("labrecords_laboratory", "labrecords_equipmentevent", "labrecords_calibration"):
        assert sum(f'FROM "{once}"' in question for question in questions) == 1, once


def test_more_results_ask_no_more(world):
    first, *_, last = (len(asked(world, specimen=specimen)) for specimen in world.specimens[:4])
    assert last == first


def test_the_laboratory_is_asked_once_in_a_block_and_each_time_outside(world):
    with CaptureQueriesContext(connection) as caught:
        with lab.asked_once():
            first = lab.laboratory()
            with lab.asked_once():  # an act within a request
                assert lab.laboratory() is first
            assert lab.laboratory() is first
        assert len(caught) == 1
        assert lab.laboratory() == lab.laboratory() == first
        assert len(caught) == 3
