"""Photographs of a separated strip: what may be attached to a result."""

from dataclasses import dataclass

from .answers import Answer

MOST_BYTES = 15_000_000
MOST_PIXELS = 40_000_000  # what a bench tablet or telephone takes, and what is decoded without harm


@dataclass(frozen=True)
class Sent:
    """A photograph that is to be attached.

    problem : why its bytes are no photograph, empty where they are; kept_with : the specimen with which the same
    bytes are kept, empty where they are new; tested : whether the specimen has a result.
    """

    name: str
    specimen: str
    problem: str
    kept_with: str
    tested: bool


def check_sent(sent: Sent) -> list[Answer]:
    """Whether a photograph may be attached, with every reason against it."""
    answers = []
    if not sent.tested:
        why = f"{sent.specimen} has no result: its strip has not been pulled."
        answers.append(Answer("photograph-too-early", why, {"specimen": sent.specimen}))
    if sent.problem:
        answers.append(Answer("photograph-unreadable", sent.problem, {"name": sent.name}))
    if sent.kept_with:
        why = f"{sent.name} has the same bytes as a photograph of {sent.kept_with}."
        answers.append(Answer("photograph-kept", why, {"name": sent.name, "specimen": sent.kept_with}))
    return answers
