"""Validation studies that are ready to be decided, each with its laboratory and the people who pulled."""

import pytest

from tests import world as lab
from tests.validations import cast


def all_alike():
    world = lab.build()
    return world, *cast.made(world)


def one_high():
    world = lab.build()
    return world, *cast.made(world, {"Di": "0.30"})


@pytest.fixture
def validated(built):
    """All four agree."""
    with built.standing(all_alike) as found:
        yield found


@pytest.fixture
def one_apart(built):
    """Di reads high."""
    with built.standing(one_high) as found:
        yield found
