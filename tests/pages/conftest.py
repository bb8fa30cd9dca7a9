"""Two companies with something behind every address, built once a file."""

import pytest

from tests.pages import things
from tests.undone import never_committed


@pytest.fixture(scope="module")
def _two_companies(django_db_setup, django_db_blocker):
    with django_db_blocker.unblock(), never_committed():
        yield things.build()


@pytest.fixture
def two(_two_companies):
    """Clara's things and Otto's; what a test adds is gone after it."""
    with never_committed():
        yield _two_companies
