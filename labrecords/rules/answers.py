"""What a rule may answer: one code, why, and the facts that met the rule."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum


class Kind(StrEnum):
    """How an answer bears on what was asked for."""

    REFUSE = "refuse"  # not kept; the refusal is
    HOLD = "hold"  # kept, and waits for a named person's decision
    MARK = "mark"  # kept, with a mark that is printed wherever the result is
    CHECK = "check"  # one extra press, then kept; the press is recorded
    NOTE = "note"  # good to know


@dataclass(frozen=True)
class Answer:
    """One reason. `why` is a sentence with the facts in it; `facts` are the same facts by name, as text.

    >>> Answer("rate-changed", "The entry says 12 in/min.", {"locked": "11 in/min"}).code
    'rate-changed'
    """

    code: str
    why: str
    facts: Mapping[str, str] = field(default_factory=dict)


def codes(answers: Iterable[Answer]) -> tuple[str, ...]:
    """The codes of some answers, in their order."""
    return tuple(answer.code for answer in answers)
