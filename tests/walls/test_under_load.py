"""Many writers at once, some slow and some giving up: no fork, no gap, nothing unsealed.

The long form: LABRECORDS_EVENTS=20000 .venv/bin/pytest -s tests/walls/test_under_load.py
"""

import os
import random
import threading
import time

import pytest
from django.db import connection, transaction

from labrecords.actions import trail
from labrecords.models import Event, Seal
from labrecords.queries import audit
from tests import databases

WRITERS = 16
EVENTS = int(os.environ.get("LABRECORDS_EVENTS", "640"))
SEED = 20260520


@pytest.fixture
def world(committed):
    return committed


class GivesUp(Exception):
    """What a transaction that is not to commit ends with."""


def write(world, first: int, counts: list[int], faults: list[Exception]) -> None:
    """Transactions of one to three events; one in five gives up, one in ten dawdles."""
    chance, left = random.Random(SEED + first), EVENTS // WRITERS
    try:
        while left > 0:
            events = min(left, chance.randint(1, 3))
            try:
                with transaction.atomic():
                    for _ in range(events):
                        trail.write("remark.made", subject=f"writer {first}", by=world.runa, at=world.at)
                    if chance.random() < 0.1:
                        time.sleep(0.01)
                    if chance.random() < 0.2:
                        raise GivesUp
            except GivesUp:
                continue
            counts[first] += events
            left -= events
    except Exception as fault:  # shown by the test, in its own thread
        faults.append(fault)
    finally:
        connection.close()


def under_load(world) -> int:
    """How many events were committed."""
    counts, faults = [0] * WRITERS, []
    threads = [threading.Thread(target=write, args=(world, first, counts, faults)) for first in range(WRITERS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert faults == []
    return sum(counts)


def test_the_chain_neither_forks_nor_has_gaps(world):
    before = Event.objects.count()
    committed = under_load(world)
    check = audit.check_chain()
    seals = list(Seal.objects.order_by("seq").values_list("seq", "prev"))
    gaps = [seq for place, (seq, _) in enumerate(seals, start=1) if seq != place]
    forks = len(seals) - len({bytes(prev) for _, prev in seals})
    unsealed = Event.objects.count() - sum(Seal.objects.values_list("events", flat=True))
    said = f"seed {SEED}, {WRITERS} writers: {committed} events, {forks} forks, {len(gaps)} gaps, {unsealed} unsealed"
    print(said)  # noqa: T201 - a fault test says what it found
    assert check.ok, check
    assert (forks, gaps, unsealed) == (0, [], 0)
    assert Event.objects.count() == before + committed


def test_control_without_the_seal_the_same_load_leaves_events_unsealed(world):
    """The last test of this file, whose database is its own: nothing after it needs a whole trail."""
    with databases.django_as_superuser(), connection.cursor() as cursor:
        cursor.execute("alter table labrecords_event disable trigger seal_events")
    with pytest.raises(AssertionError, match="never been sealed"):
        test_the_chain_neither_forks_nor_has_gaps(world)
