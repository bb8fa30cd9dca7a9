"""When a result may be void, and who may say so."""

from collections.abc import Iterable
from decimal import Decimal

from .answers import Answer


def check_void(
    *, cause: str, causes: Iterable[str], words: str, already: bool, weighty: bool, may_void_low: bool
) -> tuple[Answer, ...]:
    """Every reason against voiding. `weighty`: the value lies outside a limit, or is the lowest of its lot."""
    answers = []
    if already:
        answers.append(Answer("already-void", "The specimen is void already."))
    if cause not in causes:
        answers.append(Answer("cause-unknown", f"'{cause}' is not a cause in the method's list.", {"said": cause}))
    if not words.strip():
        answers.append(Answer("words-missing", "What happened was not written down."))
    if weighty and not may_void_low:
        answers.append(
            Answer(
                "void-needs-manager",
                "The value lies outside a limit, is the lowest of its lot so far, or waits for a decision.",
            )
        )
    return tuple(answers)


def is_weighty(value: Decimal | None, *, outside: bool, others: Iterable[Decimal | None]) -> bool:
    """Whether a value is one that nobody may take away lightly: outside a limit, or the lowest of its lot so far.

    `None` stands for a seal that opened before the test, or was too weak to measure: the lowest there is.

    >>> is_weighty(Decimal("1.2"), outside=False, others=[Decimal("1.1"), Decimal("1.4")])
    False
    >>> is_weighty(Decimal("1.05"), outside=False, others=[Decimal("1.1")])
    True
    """
    if value is None or outside:
        return True
    known = [other for other in others if other is not None]
    return value <= min(known, default=value)


def check_replacement(*, replaced: int, cap: int, is_void: bool, label: str) -> tuple[Answer, ...]:
    """A replacement follows a void, and the method caps how many a group may have."""
    if not is_void:
        return (Answer("state-refused", f"{label} is not void, so nothing replaces it."),)
    if replaced >= cap:
        why = f"The group has {replaced} replacements; the method allows {cap}."
        return (Answer("replacements-spent", why, {"cap": str(cap)}),)
    return ()
