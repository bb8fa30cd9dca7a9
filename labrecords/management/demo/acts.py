"""Acts of the demo: each has its moment, and they are done in the order of their moments, across all studies."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class Act:
    """One thing somebody does at a moment; it may give back a line to print."""

    at: datetime
    do: Callable[[datetime], str | None]


def perform(acts: Iterable[Act], *, say: Callable[[str], object]) -> None:
    """Do the acts in the order of their moments; of equal moments, as listed."""
    for act in sorted(acts, key=lambda act: act.at):
        line = act.do(act.at)
        if line:
            say(line)
