"""Numbers and units as figures say them."""

import re
from collections.abc import Iterable
from decimal import ROUND_HALF_EVEN, Decimal

Number = int | float | Decimal

_SPOKEN = {
    "N": "newtons",
    "mN": "millinewtons",
    "lbf": "pounds-force",
    "gf": "grams-force",
    "kgf": "kilograms-force",
    "mm": "millimetres",
    "m": "metre",
    "in": "inches",
}


def exact(value: Number) -> Decimal:
    """Give the number as the decimal that a person would write for it.

    >>> exact(0.1)
    Decimal('0.1')
    """
    return value if isinstance(value, Decimal) else Decimal(str(value))


def fixed(value: Number, *, decimals: int) -> str:
    """Write a number with a fixed count of decimals and a true minus sign; ties go to the even digit.

    >>> fixed(7.425, decimals=2), fixed(-0.5, decimals=1)
    ('7.42', '−0.5')
    """
    rounded = exact(value).quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_EVEN)
    text = f"{rounded:f}"
    return text.lstrip("-") if not rounded else text.replace("-", "−")


def fixed_beside(value: Number, *, limit: Number, decimals: int) -> str:
    """Write a number so that rounding never puts it on the other side of a limit, or on it.

    >>> fixed_beside(4.996, limit=5, decimals=2)
    '4.996'
    """
    text = fixed(value, decimals=decimals)
    shown, edge = Decimal(text.replace("−", "-")), exact(limit)
    kept_side = (shown > edge, shown < edge) == (exact(value) > edge, exact(value) < edge)
    return text if kept_side else f"{exact(value):f}".replace("-", "−")


def spoken(unit: str) -> str:
    """Spell a unit for a screen reader; what is not known is left as it is.

    >>> spoken("N/15 mm"), spoken("lbf/in")
    ('newtons per 15 millimetres', 'pounds-force per inch')
    """
    found = re.fullmatch(r"(\w+)(?:/(?:([\d.]+) ?)?(\w+))?", unit)
    if found is None or found[1] not in _SPOKEN:
        return unit
    if found[3] is None:
        return _SPOKEN[found[1]]
    width = _SPOKEN.get(found[3], found[3])
    one = {"inches": "inch", "millimetres": "millimetre"}.get(width, width)
    return f"{_SPOKEN[found[1]]} per {f'{found[2]} {width}' if found[2] else one}"


def counted(count: int, noun: str) -> str:
    """Write a count with its noun, in the plural when there is not exactly one.

    >>> counted(1, "value"), counted(3, "value")
    ('1 value', '3 values')
    """
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def listed(items: Iterable[str]) -> str:
    """Join items as a sentence does.

    >>> listed(["A", "B", "C"])
    'A, B and C'
    """
    *most, last = items
    return f"{', '.join(most)} and {last}" if most else last


def cut(text: str, *, longest: int) -> str:
    """Shorten a text at a word, with an ellipsis, so that it is at most `longest` characters.

    >>> cut("Dot plot of values", longest=12)
    'Dot plot…'
    """
    if len(text) <= longest:
        return text
    return text[: longest - 1].rsplit(" ", 1)[0] + "…"
