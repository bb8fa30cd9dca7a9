"""When a result may be corrected, and when a second person must agree. Nothing is ever overwritten."""

from collections.abc import Iterator
from dataclasses import dataclass

from .answers import Answer
from .facts import Facts
from .reach import check_reach
from .value import check_value

REASONS = {
    "typing": "slip of the keys",
    "unit": "wrong unit chosen",
    "exchanged": "values of two specimens exchanged",
    "mode": "failure mode looked at again",
    "other": "another reason, in words",
}


@dataclass(frozen=True)
class Asked:
    """What is known of a result whose correction is asked for."""

    void: bool
    waits: bool  # for somebody's decision on a deviation
    set_aside: bool
    another: bool  # a correction of it is open already
    changes: bool  # anything at all
    from_trace: bool
    changes_value: bool


def check_asked(asked: Asked, *, words: str) -> list[Answer]:
    """Every reason against correcting a result."""
    said = [*_standing(asked), *_substance(asked)]
    if not words.strip():
        said.append(Answer("words-missing", "What is wrong, and how it is known, was not written down."))
    return said


def _standing(asked: Asked) -> Iterator[Answer]:
    if asked.void:
        yield Answer("specimen-void", "The specimen is void: its value is printed as it was found.")
    if asked.waits or asked.set_aside:
        why = "waits for a decision" if asked.waits else "was set aside by a decision"
        yield Answer("not-correctable", f"The result {why}.")
    if asked.another:
        yield Answer("correction-open", "A correction of this result waits already.")


def _substance(asked: Asked) -> Iterator[Answer]:
    if not asked.changes:
        yield Answer("nothing-corrected", "What was sent is what stands there.")
    if asked.from_trace and asked.changes_value:
        yield Answer("trace-keeps-value", "The maximum comes from the trace, which is kept.")


def check_corrected(facts: Facts) -> list[Answer]:
    """What the gate says of the corrected reading: of the value and its ends; how it was pulled has been asked."""
    assert facts.setup is not None
    assert facts.method is not None
    return [
        *check_value(setup=facts.setup, method=facts.method, entry=facts.entry),
        *check_reach(entry=facts.entry, tester=facts.tester, cell=facts.cell, method=facts.method),
        Answer("corrected", "The version before it stays readable."),
    ]


def needs_second(*, run_closed: bool, outside_before: bool, outside_after: bool) -> bool:
    """Whether somebody else must agree: once the run is closed, and always where a value outside a limit is touched.

    >>> needs_second(run_closed=False, outside_before=True, outside_after=False)
    True
    """
    return run_closed or outside_before or outside_after


def check_second(*, decider: str, asked_by: str, tested_by: str) -> list[Answer]:
    """Whoever agrees neither asked for the correction nor pulled the strip."""
    if decider not in (asked_by, tested_by):
        return []
    part = "asked for the correction" if decider == asked_by else "pulled the strip"
    return [Answer("same-person", f"{decider} {part}.")]
