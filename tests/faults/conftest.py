"""One laboratory that is served, for all the tests of a run that send to it."""

import os

import pytest

from tests.faults import served

# Every result needs a specimen of its own; the long forms need many.
PACKS = 600 + 400 * int(os.environ.get("LABRECORDS_WORKER_KILLS", "0")) + int(os.environ.get("LABRECORDS_KEYS", "0"))
PACKS += 2 * int(os.environ.get("LABRECORDS_RACES", "0"))


@pytest.fixture(scope="session")
def _served(tmp_path_factory):
    with served.running(tmp_path_factory.mktemp("house"), packs=PACKS) as house:
        yield house


@pytest.fixture
def house(_served):
    """The small laboratory, served by several workers, all of them there; what tests before sent stays."""
    _served.settle()
    return _served
