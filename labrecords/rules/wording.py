"""How each answer reads. One row a code: the API, the tests and the database use the code; people read the words."""

from collections.abc import Iterable

from . import (
    words_corrections,
    words_equipment,
    words_factors,
    words_gate,
    words_holds,
    words_limits,
    words_photographs,
    words_steps,
    words_validation,
)
from .answers import Answer, Kind
from .words import Words

WORDS: dict[str, Words] = (
    words_gate.WORDS
    | words_equipment.WORDS
    | words_holds.WORDS
    | words_steps.WORDS
    | words_limits.WORDS
    | words_validation.WORDS
    | words_corrections.WORDS
    | words_factors.WORDS
    | words_photographs.WORDS
)


def kind_of(code: str) -> Kind:
    """How a code bears on what was asked for.

    >>> kind_of("below-verified")
    <Kind.MARK: 'mark'>
    """
    return WORDS[code].kind


def checks() -> tuple[str, ...]:
    """The codes that an extra press answers."""
    return tuple(code for code, words in WORDS.items() if words.kind is Kind.CHECK)


def only(kind: Kind, answers: Iterable[Answer]) -> tuple[Answer, ...]:
    """The answers of one kind, in their order."""
    return tuple(answer for answer in answers if kind_of(answer.code) is kind)
