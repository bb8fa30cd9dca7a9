"""A typed number, understood or refused as a whole: nothing is stripped, nothing is guessed."""

import re
from decimal import Decimal

# [0-9] and not \d, which takes the digits of every script.
PLAIN = re.compile(r"-?[0-9]{1,9}([.,][0-9]{1,9})?")
GROUPED = re.compile(r"-?[0-9]{1,3}([.,' ][0-9]{3})+([.,][0-9]+)?")


class NotANumber(ValueError):
    """The text is not a number; the message says what to type."""


def parse(text: str) -> Decimal:
    """The decimal that was typed, with point or comma as its decimal sign.

    Digits stand on both sides of the sign, so ".5" and "5." are refused, and so is "1,234": with three digits
    behind a comma it may be a thousand or a decimal.

    >>> parse("9,30")
    Decimal('9.30')
    >>> parse("9.3-0123-K")
    Traceback (most recent call last):
        ...
    labrecords.rules.numbers.NotANumber: '9.3-0123-K' is not a number. Type digits with one decimal point, such as 9.31.
    """
    typed = text.strip()
    if PLAIN.fullmatch(typed) and not _ambiguous(typed):
        return Decimal(typed.replace(",", "."))
    if GROUPED.fullmatch(typed):
        raise NotANumber(f"'{typed}' may be read two ways. Type it without grouping, with a decimal point.")
    raise NotANumber(f"'{typed}' is not a number. Type digits with one decimal point, such as 9.31.")


def _ambiguous(typed: str) -> bool:
    whole, _, decimals = typed.partition(",")
    return len(decimals) == 3 and 1 <= len(whole.lstrip("-")) <= 3 and whole.lstrip("-") != "0"
