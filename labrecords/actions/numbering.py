"""Numbers for studies, reports and labels: given out one after the other, under a row lock."""

from datetime import date

from labrecords.models import Counter
from labrecords.rules import labels


def next_number(name: str, *, count: int = 1) -> int:
    """The first of `count` consecutive numbers; call inside a transaction."""
    Counter.objects.get_or_create(name=name)
    counter = Counter.objects.select_for_update().get(name=name)
    first = counter.value + 1
    counter.value += count
    counter.save(update_fields=["value"])
    return first


def next_code(prefix: str, on: date) -> str:
    """A code such as S-2026-0007: numbers begin anew each year."""
    return f"{prefix}-{on.year}-{next_number(f'{prefix}-{on.year}'):04d}"


def next_labels(kind: str, count: int) -> list[str]:
    """Label codes with check characters, such as SP-000123-K."""
    first = next_number(f"label {kind}", count=count)
    return [labels.label(kind, first + step) for step in range(count)]
