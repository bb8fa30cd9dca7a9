"""Two released reports, and readers who have signed in."""

import pytest
from django.test import Client

from tests.portal import cast as companies


@pytest.fixture
def cast(built):
    """The laboratory and both reports; what a test adds is gone after it."""
    with built.standing(companies.build) as cast:
        yield cast


def browser_of(person):
    """A browser of somebody who has signed in, or of nobody."""
    browser = Client()
    if person is not None:
        browser.force_login(person)
    return browser


@pytest.fixture
def reader(cast):
    return lambda name: browser_of(cast.world.people.get(name))
