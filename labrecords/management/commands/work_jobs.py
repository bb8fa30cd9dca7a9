"""`work_jobs`: does what was put off until its asker had been answered."""

import contextlib
import os
import signal
import threading
import time
from collections.abc import Iterator

from django.core.management.base import BaseCommand
from django.db import connections
from procrastinate.contrib.django import app

LOOK_EVERY_S = 0.5


class Command(BaseCommand):
    help = "Does what pages put off, such as archives of a report's records, until it is told to end."

    def add_arguments(self, parser):
        parser.add_argument("--until-done", action="store_true", help="end when nothing is left to do")
        parser.add_argument("--beside", type=int, metavar="PID", help="end with this process, which started this one")

    def handle(self, *_args, until_done, beside, **_options):
        if beside:
            threading.Thread(target=end_with, args=(beside,), daemon=True).start()
        with closing_after_each(), app.replace_connector(app.connector.get_worker_connector()):
            app.run_worker(wait=not until_done, concurrency=1, delete_jobs="successful")


@contextlib.contextmanager
def closing_after_each() -> Iterator[None]:
    """A job's connection to the database ends with the job: the next may be hours away."""
    own = connections.settings["default"]
    before = own["CONN_MAX_AGE"]
    own["CONN_MAX_AGE"] = 0
    try:
        yield
    finally:
        own["CONN_MAX_AGE"] = before


def end_with(parent: int) -> None:
    """Ask this process to end in good order once its parent is another one, as happens when that has ended."""
    while os.getppid() == parent:
        time.sleep(LOOK_EVERY_S)
    os.kill(os.getpid(), signal.SIGTERM)
