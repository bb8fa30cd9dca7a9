"""Enters results through the gate as fast as it can, and notes each one only once the gate has said that it is kept.

`python -m tests.faults.writer prepare PACKS` makes a laboratory with that many specimens; `... write LEDGER SEED`
enters results until it is stopped. A sender whose answer was lost sends the same key again, as a bench does.
"""

import os
import pathlib
import random
import sys
import threading
import time
import uuid

import django

WRITERS = 4

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "labrecords.settings")


def main(act: str, *rest: str) -> None:
    django.setup()
    if act == "prepare":
        prepare(int(rest[0]))
    else:
        write(pathlib.Path(rest[0]), int(rest[1]))


def prepare(packs: int) -> None:
    from django.core.management import call_command

    from tests.walls import rows

    call_command("migrate", verbosity=0, interactive=False)
    rows.world_with(packs=packs)


def write(ledger: pathlib.Path, seed: int) -> None:
    """Several senders, each with specimens of its own."""
    from labrecords.models import Run, Specimen, User

    run = Run.objects.select_related("study").get()
    person = User.objects.get(username="runa")
    done = {line.split()[1] for line in ledger.read_text().splitlines()} if ledger.exists() else set()
    labels = [
        label for label in Specimen.objects.order_by("label").values_list("label", flat=True) if label not in done
    ]
    lock = threading.Lock()
    with ledger.open("a") as opened:
        threads = [
            threading.Thread(target=_send, args=(run, person, labels[first::WRITERS], opened, lock, seed + first))
            for first in range(WRITERS)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()


def _send(run, person, labels, opened, lock, seed: int) -> None:
    chance = random.Random(seed)
    for label in labels:
        typed = f"1.{chance.randrange(40, 66)}"
        key = uuid.UUID(int=chance.getrandbits(128), version=4)
        answered = _until_answered(run, person, label, typed, key)
        with lock:
            opened.write(f"{key} {label} {typed} {answered}\n")
            opened.flush()
            os.fsync(opened.fileno())


def _until_answered(run, person, label: str, typed: str, key: uuid.UUID) -> str:
    from django.db import Error, connection

    from labrecords.actions.refusals import Refused
    from labrecords.database.errors import StartError
    from tests import world as cast

    while True:
        try:
            cast.results.enter(
                specimen=label,
                reading=_reading(typed),
                run=run,
                tested_by=person,
                entered_by=person,
                at=cast.NOW,
                key=key,
            )
        except Refused as refused:
            return ",".join(refused.codes)
        except (Error, StartError, OSError):
            connection.close()
            time.sleep(0.05)
        else:
            return "kept"


def _reading(typed: str):
    from decimal import Decimal

    from tests import world as cast

    return cast.results.Reading(
        technique="A",
        rate=Decimal("11"),
        rate_unit="in/min",
        width_mm=Decimal("25.4"),
        tested_at=cast.NOW,
        modes=("AP",),
        typed=typed,
        unit="lbf/in",
    )


if __name__ == "__main__":
    main(*sys.argv[1:])
