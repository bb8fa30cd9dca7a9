"""Two released reports, built once a file, and readers who have signed in."""

import contextlib

import pytest
from django.db import transaction
from django.test import Client

from tests.portal import cast as companies


@contextlib.contextmanager
def never_committed():
    """What is done in the block is undone at its end."""
    block = transaction.atomic()
    block._from_testcase = True  # as in Django's own TestCase: what runs inside may ask for the outermost block
    with block:
        yield
        transaction.set_rollback(True)


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
