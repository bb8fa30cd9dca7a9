"""A badge and its PIN: shown at a bench that somebody opened with name and password, for the work at the bench.

A badge's code is no secret: it is printed on it. The PIN is one, and a short one, so it is good only there, for little,
and not for ever: after some tries that failed, name and password are asked for.
"""

from itertools import pairwise

SHORTEST, LONGEST = 6, 12
KINDS_OF_DIGITS = 3
TRIES = 10  # that may fail since the person last signed in with the password, or set the PIN


def problem(pin: str, *, label: str = "") -> str:
    """What stands against a PIN, as a sentence to show; empty if nothing does. `label` is the badge's code.

    >>> problem("482915")
    ''
    >>> problem("234567")
    'Choose digits that are not simply counted up or down.'
    """
    if not (pin.isascii() and pin.isdigit()):
        return "A PIN is digits and nothing else."
    if not SHORTEST <= len(pin) <= LONGEST:
        return f"A PIN has {SHORTEST} to {LONGEST} digits; this one has {len(pin)}."
    if len(set(pin)) < KINDS_OF_DIGITS:
        return f"Choose at least {KINDS_OF_DIGITS} different digits."
    if len(_steps(pin)) == 1:
        return "Choose digits that are not simply counted up or down."
    if pin in label:
        return "Choose other digits than those of the badge's code."
    return ""


def _steps(pin: str) -> set[int]:
    """By how much each digit differs from the one before, after 9 comes 0."""
    return {(int(after) - int(before)) % 10 for before, after in pairwise(pin)}


def is_used_up(failures: int) -> bool:
    """Whether so many tries failed that the PIN is not looked at until its person has signed in with the password.

    >>> is_used_up(9), is_used_up(10)
    (False, True)
    """
    return failures >= TRIES
