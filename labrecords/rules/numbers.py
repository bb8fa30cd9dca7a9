"""A typed number, understood or refused as a whole: nothing is stripped, nothing is guessed."""

import re
from decimal import Decimal

from labrecords.stats import units

# [0-9] and not \d, which takes the digits of every script.
PLAIN = re.compile(r"-?[0-9]{1,9}([.,][0-9]{1,9})?")
GROUPED = re.compile(r"-?[0-9]{1,3}([.,' ][0-9]{3})+([.,][0-9]+)?")
# A unit begins with a letter and goes on to the end of what was typed.
WITH_UNIT = re.compile(r"(-?[0-9][0-9.,]*)\s*([A-Za-z].*)")


class NotANumber(ValueError):
    """The text is not a number; the message says what to type."""


class OtherUnit(ValueError):
    """Another unit was typed behind the number than the one in which it is recorded; `unit` says which."""

    def __init__(self, unit: str, shown: str) -> None:
        self.unit = unit
        super().__init__(f"You typed {unit}. This study records {shown}. Enter the value in {shown}.")


def without_unit(text: str, *, unit: str) -> str:
    """What was typed without the shown unit behind it; everything else stays, for `parse` to judge.

    Raises OtherUnit for another unit that is known: nothing is converted in silence.

    >>> without_unit("9.31 lbf/in", unit="lbf/in")
    '9.31'
    >>> without_unit("9.31 lbf", unit="N/15mm")
    Traceback (most recent call last):
        ...
    labrecords.rules.numbers.OtherUnit: You typed lbf. This study records N/15mm. Enter the value in N/15mm.
    """
    typed = text.strip()
    found = WITH_UNIT.fullmatch(typed)
    if found is None or not _known(found[2]):
        return typed
    if not _is(found[2], unit):
        raise OtherUnit(found[2], unit)
    return found[1]


def _known(unit: str) -> bool:
    try:
        return bool(units.kind_of(unit))
    except ValueError:
        return False


def _is(typed: str, shown: str) -> bool:
    return units.kind_of(typed) == units.kind_of(shown) and units.same(1, typed, 1, shown)


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
