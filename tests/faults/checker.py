"""Holds what senders were told against what the database holds. Knows nothing of the system but these two."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass


@dataclass(frozen=True)
class Attempt:
    """One try to send an entry, and what came of it: a status, "dropped" or, at the end, "given up"."""

    key: str
    specimen: str
    typed: str
    outcome: str
    result: str | None = None  # the id in the answer
    later: bool = False  # to be tried again
    retry_after: str | None = None


@dataclass(frozen=True)
class Kept:
    """A result as the database holds it; without a key when no entry leads to it."""

    key: str | None
    result: str
    specimen: str
    recorded: str


@dataclass(frozen=True)
class Verdict:
    """How often it went wrong, by what went wrong."""

    lost: int  # acknowledged, and not there with that key, id, specimen and value
    doubled: int  # more than one result of a specimen, an entry that two results have, or one that nobody sent
    given_up: int
    refused: int  # every entry was right, so that a refusal says that it met its own double
    failed: int  # 5xx that do not mean: later
    without_wait: int  # 503 without Retry-After

    @property
    def good(self) -> bool:
        """Whether nothing went wrong."""
        return not any(asdict(self).values())

    def __str__(self) -> str:
        """All counts in one line."""
        return ", ".join(f"{count} {name.replace('_', ' ')}" for name, count in asdict(self).items())


def judge(attempts: Sequence[Attempt], kept: Sequence[Kept]) -> Verdict:
    """The verdict on one run."""
    outcomes = [attempt.outcome for attempt in attempts]
    there = {(row.key, row.result, row.specimen, row.recorded) for row in kept}
    acknowledged = [attempt for attempt in attempts if attempt.outcome == "201"]
    sent = {attempt.key for attempt in attempts}
    return Verdict(
        lost=sum((one.key, one.result, one.specimen, one.typed) not in there for one in acknowledged),
        doubled=_more_than_once(row.specimen for row in kept)
        + _more_than_once(row.key for row in kept if row.key)
        + sum(row.key not in sent for row in kept),
        given_up=outcomes.count("given up"),
        refused=sum(outcome.startswith("4") and not one.later for outcome, one in zip(outcomes, attempts, strict=True)),
        failed=sum(outcome.startswith("5") and outcome not in ("502", "503") for outcome in outcomes),
        without_wait=sum(one.outcome == "503" and one.retry_after is None for one in attempts),
    )


def _more_than_once(found: Iterable) -> int:
    return sum(count > 1 for count in Counter(found).values())
