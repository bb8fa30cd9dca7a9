"""Several askers that start at one moment, each on a line of its own."""

import contextlib
import threading
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor

from tests.faults.sender import Answer, Line


def all_at_once(port: int, askers: Sequence[Callable[[Line], Answer]]) -> list[Answer]:
    """What each was answered; the lines are open before any of them asks."""
    barrier = threading.Barrier(len(askers), timeout=60)

    def run(ask: Callable[[Line], Answer]) -> Answer:
        with contextlib.closing(Line(port)) as line:
            line.connection.timeout = 60
            line.connection.connect()
            barrier.wait()
            return ask(line)

    with ThreadPoolExecutor(len(askers)) as pool:
        return list(pool.map(run, askers))
