"""Two companies with something behind every address."""

import pytest

from tests.pages import things


@pytest.fixture
def two(built):
    """Clara's things and Otto's; what a test adds is gone after it."""
    with built.standing(things.build) as two:
        yield two
