"""What sealing costs, and how long a trail takes to check beside reading it.

Run `.venv/bin/pytest -c pyproject.toml -o python_files=bench_*.py -o python_functions=bench_* -s
tests/benchmarks/bench_seal.py` on a quiet machine; LABRECORDS_EVENTS=1000000 for a trail of that length.
"""

import os
import threading
import time

from django.db import connection, transaction

from labrecords.actions import trail
from labrecords.models import Event, Seal
from labrecords.queries import audit
from tests import databases
from tests.walls.conftest import committed, kept  # noqa: F401 - fixtures

WRITERS, EACH = 16, 150
EVENTS = int(os.environ.get("LABRECORDS_EVENTS", "100000"))
IN_ONE = 20  # events of one transaction


def saves(world) -> float:
    """Seconds that many writers take, each act a transaction of its own with its event."""

    def write(first):
        for _ in range(EACH):
            with transaction.atomic():
                trail.write("remark.made", subject=f"writer {first}", by=world.runa, at=world.at)
        connection.close()

    threads = [threading.Thread(target=write, args=(first,)) for first in range(WRITERS)]
    began = time.perf_counter()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return time.perf_counter() - began


def seal(world, act: str) -> None:
    with databases.django_as_superuser(), connection.cursor() as cursor:
        cursor.execute(f"alter table labrecords_event {act} trigger seal_events")


def bench_a_long_trail_is_checked(committed):  # noqa: F811 - a fixture
    missing = EVENTS - Event.objects.count()
    for _ in range(max(0, missing) // IN_ONE):
        with transaction.atomic():
            event = trail.write("remark.made", subject="long", by=committed.runa, at=committed.at)
            Event.objects.bulk_create(
                Event(at=event.at, actor=event.actor, act=event.act, subject=event.subject, body=event.body)
                for _ in range(IN_ONE - 1)
            )
    began = time.perf_counter()
    check = audit.check_chain()
    checked = time.perf_counter() - began
    began = time.perf_counter()
    read = sum(len(event.body) for event in Event.objects.order_by("id").iterator(chunk_size=1000))
    read += sum(len(bytes(one.hash)) for one in Seal.objects.order_by("seq").iterator(chunk_size=1000))
    reading = time.perf_counter() - began
    assert check.ok, check
    told = f"{check.events} events in {check.seals} seals, {read} bytes: checked in {checked:.1f} s"
    print(f"\n{told}, {checked / reading:.2f} times reading them")


def bench_cost_of_sealing(committed):  # noqa: F811 - a fixture
    """The last of this file: without the seal its database has no whole trail any more."""
    with_it = min(saves(committed) for _ in range(3))
    seal(committed, "disable")
    without = min(saves(committed) for _ in range(3))
    told = f"{WRITERS} writers, {EACH} acts each: {with_it:.2f} s with the seal, {without:.2f} s without"
    print(f"\n{told}: {with_it / without:.2f} times")
