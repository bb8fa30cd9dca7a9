"""The extra press that a check asks for: it belongs to the value that was looked at, and to no other."""

from labrecords.actions.refusals import Refused
from labrecords.rules import wording
from labrecords.rules.answers import Kind


def looked_at(specimen: str, typed: str, unit: str) -> str:
    """What a person looks at: the specimen with its value as typed."""
    return " ".join(str(part).strip() for part in (specimen, typed, unit))


def press(refused: Refused, seen: str) -> str:
    """What a form says once the press was made; empty where more than checks stands against the entry.

    `seen` : what was looked at, from `looked_at`.
    """
    only_checks = all(wording.kind_of(code) is Kind.CHECK for code in refused.codes)
    return f"{' '.join(refused.codes)} for {seen}" if only_checks else ""


def pressed(said: str, seen: str) -> tuple[str, ...]:
    """The checks that a form says were pressed, if what it holds now is still what was looked at."""
    checks, _, of = said.partition(" for ")
    return () if of and of != seen else tuple(checks.split())
