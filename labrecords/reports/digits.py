"""How numbers read in a report: measured values keep their zeros, statistics one digit more, spreads two digits."""

from decimal import ROUND_FLOOR, ROUND_HALF_EVEN, Decimal

from labrecords.stats.rounding import report_digits


def fixed(value: Decimal | float, decimals: int) -> str:
    """A number to a fixed count of decimals, ties to the even digit.

    >>> fixed(1.005, 2), fixed(2, 2)
    ('1.00', '2.00')
    """
    number = value if isinstance(value, Decimal) else Decimal(repr(value))
    return f"{number.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_EVEN):f}"


def lower(value: float, decimals: int) -> str:
    """A lower bound, rounded down: a promise is not rounded up.

    >>> lower(0.9962, 2)
    '0.99'
    """
    return f"{Decimal(repr(value)).quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_FLOOR):f}"


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
