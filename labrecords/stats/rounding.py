"""How a number is written in a report."""

from decimal import ROUND_HALF_EVEN, Context, Decimal

from labrecords.stats import checked

WIDE = Context(prec=800)  # enough for every place of every double


def report_digits(value: float | Decimal, *, uncertainty: float | Decimal | None = None, digits: int = 2) -> str:
    """Write a number as a report shows it; the stored number keeps its full precision.

    Parameters
    ----------
    value : float or Decimal
        The number. With ``uncertainty`` it is rounded to the place of the last digit of the rounded
        uncertainty; without, to ``digits`` significant digits (a standard deviation or uncertainty itself:
        2).
    uncertainty : float or Decimal, optional
        Standard deviation or expanded uncertainty of the value, in the same unit, above 0.
    digits : int
        Significant digits of the uncertainty, or of the value alone, at least 1.

    Returns
    -------
    str
        Plain notation, point as decimal mark, never "-0". Ties go to the even digit, judged on the shortest
        decimal form of a float: 2.5 is a tie, and so is 0.125.

    Raises
    ------
    ValueError
        If a number is not finite, the uncertainty is not above 0, or digits is below 1.

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), 7.2.6: at most two significant digits of an uncertainty, the estimate to
       match.
    .. [2] ISO 80000-1:2009, Annex B, rule A: ties to the even digit.

    Examples
    --------
    >>> report_digits(0.068775)
    '0.069'
    >>> report_digits(1.4664, uncertainty=0.068775)
    '1.466'
    >>> report_digits(1234.4, uncertainty=230)
    '1230'
    >>> report_digits(1.4664, digits=3)
    '1.47'
    """
    number = _decimal(value, name="value")
    digits = checked.count(digits, name="digits", at_least=1)
    if uncertainty is None and number.is_zero():
        return "0"  # no digit of a zero is significant
    if uncertainty is None:
        return _written(number, place=_last_place(number, digits))
    checked.positive(uncertainty, name="uncertainty")
    return _written(number, place=_last_place(_decimal(uncertainty, name="uncertainty"), digits))


def _decimal(value: float | Decimal, *, name: str) -> Decimal:
    number = checked.finite(value, name=name)
    return value if isinstance(value, Decimal) else Decimal(repr(number))


def _last_place(number: Decimal, digits: int) -> int:
    """Power of ten of the last significant digit, after rounding: 0.0996 to two digits is 0.10."""
    return number.adjusted() - digits + 1 + _carried(number, digits)


def _carried(number: Decimal, digits: int) -> int:
    rounded = number.quantize(Decimal(1).scaleb(number.adjusted() - digits + 1), ROUND_HALF_EVEN, WIDE)
    return rounded.adjusted() - number.adjusted()


def _written(number: Decimal, *, place: int) -> str:
    rounded = number.quantize(Decimal(1).scaleb(place), ROUND_HALF_EVEN, WIDE)
    return f"{abs(rounded) if rounded.is_zero() else rounded:f}"
