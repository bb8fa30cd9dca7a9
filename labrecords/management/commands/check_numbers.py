"""How well the numbers agree with what the outside world says they are."""

import importlib
from typing import Any

from django.core.management.base import BaseCommand, CommandError


class Command(BaseCommand):
    """Print the agreement of every statistic with published and independently computed numbers, as a table."""

    help = "Compares the statistics with published and independently computed numbers; fails if one is off."
    requires_system_checks: list[str] = []

    def handle(self, *_args: Any, **_options: Any) -> None:
        """Print one line for each function and source, worst agreement last."""
        try:
            agreement = importlib.import_module("tests.reference.agreement")
        except ModuleNotFoundError as missing:
            raise CommandError(
                f"The comparison needs the tests folder and what tests/requirements.txt lists ({missing.name} is "
                "missing). Run it in a clone of the project."
            ) from None
        found = agreement.by_function_and_source()
        if not found:
            raise CommandError("There is nothing to compare: tests/reference/cases holds no case.")
        for line in _table(found):
            self.stdout.write(line)
        functions = len({line.function for line in found})
        self.stdout.write(f"{sum(line.cases for line in found)} numbers of {functions} functions compared.")
        off = [line.function for line in found if not line.holds]
        if off:
            raise CommandError("Off by more than the source allows: " + ", ".join(dict.fromkeys(off)))


def _table(found: list[Any]) -> list[str]:
    rows = [("function", "cases", "source", "worst agreement")]
    rows += [(line.function, str(line.cases), line.source, _worst(line)) for line in found]
    widths = [max(len(row[column]) for row in rows) for column in range(4)]
    return ["  ".join(text.ljust(width) for text, width in zip(row, widths, strict=True)).rstrip() for row in rows]


def _worst(line: Any) -> str:
    if line.printed:
        return "every printed digit" if line.holds else "off"
    return f"{line.worst:.1f} digits" + ("" if line.holds else ", off")
