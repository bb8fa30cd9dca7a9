"""Gathers the cases of tests/reference/cases and sums them up, function by function."""

import importlib
import pkgutil
from collections.abc import Iterator
from dataclasses import dataclass

from tests.reference import cases
from tests.reference.case import Case


@dataclass(frozen=True)
class Agreement:
    """How well one function agrees with one source: worst case over all its numbers."""

    function: str
    source: str
    cases: int
    printed: bool
    worst: float
    holds: bool


def every_case() -> Iterator[Case]:
    """Every case of every module, in the order of the modules' names."""
    for module in sorted(found.name for found in pkgutil.iter_modules(cases.__path__)):
        yield from importlib.import_module(f"{cases.__name__}.{module}").every_case()


def by_function_and_source() -> list[Agreement]:
    """The worst agreement of each function with each source."""
    groups: dict[tuple[str, str, bool], list[Case]] = {}
    for case in every_case():
        groups.setdefault((case.function, case.source, case.printed), []).append(case)
    return [_worst(*key, found) for key, found in groups.items()]


def _worst(function: str, source: str, printed: bool, found: list[Case]) -> Agreement:
    return Agreement(
        function=function,
        source=source,
        cases=len(found),
        printed=printed,
        worst=min(case.agreement() for case in found),
        holds=all(case.holds() for case in found),
    )
