"""Two released reports, built once a file, and readers who have signed in."""

import pytest
from django.test import Client

from tests.portal import cast as companies
from tests.undone import never_committed


@pytest.fixture(scope="module")
def released(django_db_setup, django_db_blocker):
    with django_db_blocker.unblock(), never_committed():
        yield companies.build()


@pytest.fixture
def cast(released):
    """The laboratory and both reports; what a test adds is gone after it."""
    with never_committed():
        yield released


def browser_of(person):
    """A browser of somebody who has signed in, or of nobody."""
    browser = Client()
    if person is not None:
        browser.force_login(person)
    return browser


@pytest.fixture
def reader(cast):
    return lambda name: browser_of(cast.world.people.get(name))
