"""How numbers read in a report: measured values keep their zeros, statistics one digit more, spreads two digits."""

from collections.abc import Iterable
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal

from labrecords.charts.words import exact
from labrecords.stats.rounding import report_digits


def fixed(value: Decimal | float, decimals: int) -> str:
    """A number to a fixed count of decimals, ties to the even digit.

    >>> fixed(1.005, 2), fixed(2, 2)
    ('1.00', '2.00')
    """
    return _rounded(value, decimals, ROUND_HALF_EVEN)


def signed(value: Decimal | float, decimals: int) -> str:
    """A difference to a fixed count of decimals, with a true minus sign.

    >>> signed(-0.184, 2)
    '−0.18'
    """
    return fixed(value, decimals).replace("-", "−")


def beside(value: Decimal | float, decimals: int, limits: Iterable[Decimal]) -> str:
    """A number to a fixed count of decimals, or in full where rounding would put it onto a limit or across it.

    >>> beside(Decimal("0.996"), 2, [Decimal("1.00")]), beside(Decimal("0.994"), 2, [Decimal("1.00")])
    ('0.996', '0.99')
    """
    text, true = fixed(value, decimals), exact(value)
    shown = Decimal(text)
    if any((shown > limit, shown < limit) != (true > limit, true < limit) for limit in limits):
        return f"{true.normalize():f}"
    return text


def _rounded(value: Decimal | float, decimals: int, rounding: str) -> str:
    number = exact(value).quantize(Decimal(1).scaleb(-decimals), rounding=rounding)
    return f"{abs(number) if number.is_zero() else number:f}"


def lower(value: float, decimals: int) -> str:
    """A lower bound, rounded down: a promise is not rounded up.

    >>> lower(0.9962, 2)
    '0.99'
    """
    return _rounded(value, decimals, ROUND_FLOOR)


def bound_beside(value: float, decimals: int, limits: Iterable[Decimal], *, side: str) -> str:
    """A bound, rounded to the careful side, with as many decimals as keep it on its own side of every limit.

    >>> bound_beside(2.6275, 2, [Decimal("2.62690253")], side="lower")
    '2.627'
    """
    rounded, true, limits = {"lower": lower, "upper": upper}[side], exact(value), list(limits)
    for more in range(decimals, 12):
        shown = Decimal(rounded(value, more))
        if all((shown >= limit) == (true >= limit) and (shown > limit) == (true > limit) for limit in limits):
            break
    return f"{shown:f}"


def upper(value: float, decimals: int) -> str:
    """An upper bound, rounded up.

    >>> upper(0.9912, 2)
    '1.00'
    """
    return _rounded(value, decimals, ROUND_CEILING)


def mean(value: float, decimals: int) -> str:
    """A mean, to one decimal more than the values."""
    return fixed(value, decimals + 1)


def spread(value: float) -> str:
    """A standard deviation, to two significant digits."""
    return report_digits(value, digits=2)


def percent(share: float) -> str:
    """A share in per cent, to one decimal.

    >>> percent(0.0512)
    '5.1 %'
    """
    return f"{fixed(share * 100, 1)} %"
