"""What the tests of equipment share."""

import contextlib

import pytest

from labrecords.actions.refusals import Refused
from labrecords.models import Event


@pytest.fixture
def world(laboratory):
    return laboratory


@contextlib.contextmanager
def refused(code, *models):
    """The block is refused with the code, one refusal is kept, and no row of the models is added."""
    before = [model.objects.count() for model in models]
    events = Event.objects.exclude(act="entry.refused").count()
    with pytest.raises(Refused) as caught:
        yield
    assert code in caught.value.codes
    assert [model.objects.count() for model in models] == before
    assert Event.objects.exclude(act="entry.refused").count() == events
