"""The numbers of a study, through the gate."""

import pytest

from labrecords.queries import numbers
from tests import world as cast


@pytest.fixture
def world(laboratory):
    return laboratory


def test_four_values_by_hand(world):
    for specimen, typed in zip(world.specimens, ("1.2", "1.4", "1.6", "1.8"), strict=True):
        cast.enter(world, specimen=specimen, typed=typed)
    (group,) = numbers.study_numbers(world.study)
    assert (group.n, group.tested, group.void, group.marked) == (4, 4, 0, 0)
    assert group.summary.mean == pytest.approx(1.5)
    assert group.summary.sd == pytest.approx((0.2 / 3) ** 0.5)
    # one-sided 95/95 factor for n = 4: 5.1439 (exact; agrees with ISO 16269-6 tables, from memory)
    assert group.bound.value == pytest.approx(1.5 - 5.1439 * (0.2 / 3) ** 0.5, abs=1e-4)
    assert group.verdicts[0].met is True


def test_a_value_on_the_limit_meets_it(world):
    cast.enter(world, typed="1.00")
    (group,) = numbers.study_numbers(world.study)
    assert group.verdicts[0].outside == 0


def test_an_opened_seal_counts_and_takes_the_mean_away(world):
    cast.enter(world, typed="1.5")
    cast.enter(world, specimen=world.specimens[1], opened=True, typed="", unit="", modes=())
    (group,) = numbers.study_numbers(world.study)
    assert (group.n, group.below, group.marked) == (2, 1, 1)
    assert group.summary is None
    assert group.bound.value is None
    assert group.verdicts[0].outside == 1
    assert group.verdicts[0].met is False
