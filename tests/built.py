"""What the tests of many files start from is built once, in a database of its own, where it is never committed."""

import contextlib
import copy
from collections.abc import Callable, Iterator

from django.db import connections

from tests import databases
from tests.undone import around_a_test, never_committed


@contextlib.contextmanager
def over(line) -> Iterator[None]:
    """Let whoever asks the database in the block ask over this connection."""
    before, connections["default"] = connections["default"], line
    try:
        yield
    finally:
        connections["default"] = before


class Built:
    """Things built once each, by the functions that build them. Ended, their databases are gone."""

    def __init__(self) -> None:
        self.things: dict[Callable, tuple] = {}
        self.ends = contextlib.ExitStack()

    @contextlib.contextmanager
    def standing(self, build: Callable) -> Iterator:
        """In the block, what `build` builds is all there is; what is done to it is undone at the end."""
        if build not in self.things:
            self.things[build] = self._built(build)
        line, thing = self.things[build]
        with over(line), never_committed():
            yield copy.deepcopy(thing)

    def _built(self, build: Callable) -> tuple:
        name = self.ends.enter_context(databases.clone(f"built_{len(self.things)}"))
        line = connections["default"].copy()
        line.settings_dict["NAME"] = name
        self.ends.callback(line.close)
        with over(line):
            around_a_test().__enter__()  # for as long as there are tests; it ends with its connection
            with line.cursor() as cursor:
                cursor.execute("SET LOCAL idle_in_transaction_session_timeout = 0")
            return line, build()
