"""Units of the trade and exact conversion between them.

Kinds: ``force per width``, ``force``, ``length``, ``rate``, ``temperature``. Every factor is an exact
fraction built from the definitions [1]_: 1 in = 25.4 mm, 1 kgf = 9.80665 N, 1 lbf = 0.45359237 kgf =
4.4482216152605 N. A force is never converted to a force per width: say over which width (``strength``).

References
----------
.. [1] NIST Special Publication 811 (2008), Guide for the Use of the International System of Units, Appendix
   B.
"""

from decimal import Decimal, InvalidOperation
from fractions import Fraction
from typing import NamedTuple

from labrecords.stats import checked

FORCES = {
    "N": Fraction(1),
    "cN": Fraction(1, 100),
    "lbf": Fraction("4.4482216152605"),
    "ozf": Fraction("4.4482216152605") / 16,
    "gf": Fraction("0.00980665"),
    "kgf": Fraction("9.80665"),
}  # in newton
LENGTHS = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction("25.4"),
    "µm": Fraction(1, 1000),
}  # in millimetre
WIDTHS = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction("25.4"),
    "15mm": Fraction(15),
    "25mm": Fraction(25),
    "25.4mm": Fraction("25.4"),
}  # in millimetre
RATES = {
    "mm/min": Fraction(1),
    "mm/s": Fraction(60),
    "cm/min": Fraction(10),
    "in/min": Fraction("25.4"),
}  # in millimetre per minute


class Unit(NamedTuple):
    """What a unit measures, and how it becomes the base unit of its kind: ``(value - zero) * factor``."""

    kind: str
    factor: Fraction
    zero: Fraction = Fraction(0)


UNITS = {
    **{
        f"{force}/{width}": Unit("force per width", newtons / millimetres)
        for force, newtons in FORCES.items()
        for width, millimetres in WIDTHS.items()
    },
    **{name: Unit("force", newtons) for name, newtons in FORCES.items()},
    "mN": Unit("force", Fraction(1, 1000)),
    "kN": Unit("force", Fraction(1000)),
    **{name: Unit("length", millimetres) for name, millimetres in LENGTHS.items()},
    **{name: Unit("rate", rate) for name, rate in RATES.items()},
    "C": Unit("temperature", Fraction(1)),
    "F": Unit("temperature", Fraction(5, 9), Fraction(32)),
}

KINDS = tuple(dict.fromkeys(unit.kind for unit in UNITS.values()))

SPELLINGS = {
    **{f"{force}/{width} mm": f"{force}/{width}mm" for force in FORCES for width in ("15", "25", "25.4")},
    "°C": "C",
    "°F": "F",
    "\N{GREEK SMALL LETTER MU}m": "µm",
    "um": "µm",
}


def known(kind: str) -> tuple[str, ...]:
    """Return the units of one kind, as they are written.

    Parameters
    ----------
    kind : str
        ``"force per width"``, ``"force"``, ``"length"``, ``"rate"`` or ``"temperature"``.

    Raises
    ------
    ValueError
        For any other kind.

    Examples
    --------
    >>> known("rate")
    ('mm/min', 'mm/s', 'cm/min', 'in/min')
    """
    checked.choice(kind, name="kind", options=KINDS)
    return tuple(name for name, unit in UNITS.items() if unit.kind == kind)


def kind_of(unit: str) -> str:
    """Return what ``unit`` measures.

    Raises
    ------
    ValueError
        If the unit is not known.

    Examples
    --------
    >>> kind_of("lbf/in")
    'force per width'
    """
    return _unit(unit, name="unit").kind


def convert(value: float, from_unit: str, to_unit: str) -> float:
    """Convert a number from one unit to another of the same kind.

    The arithmetic is in exact fractions; only the answer is rounded to a double.

    Parameters
    ----------
    value : float
        Any finite number, in ``from_unit``.
    from_unit, to_unit : str
        Units of one kind, such as ``"lbf/in"`` and ``"N/15mm"``.

    Returns
    -------
    float
        The same quantity in ``to_unit``.

    Raises
    ------
    ValueError
        If the value is not finite, a unit is not known (the sentence lists those that are), or the two units
        measure different things.

    Examples
    --------
    >>> convert(1, "lbf/in", "N/15mm")
    2.6269025286971455
    >>> convert(23, "C", "F")
    73.4
    """
    number = Fraction(checked.finite(value, name="value"))
    return float(_converted(number, from_unit, to_unit))


def exact(value: str | int | Decimal, from_unit: str, to_unit: str) -> Fraction:
    """Convert a stated quantity without any rounding.

    Parameters
    ----------
    value : str, int or Decimal
        The number as it was stated. A float is refused: it has already been rounded to binary.
    from_unit, to_unit : str
        Units of one kind.

    Returns
    -------
    Fraction
        Comparable with ``<``, ``==`` and ``>`` to any other.

    Raises
    ------
    ValueError
        If the value is not an exact decimal number, or as ``convert``.

    Examples
    --------
    >>> exact("12", "in/min", "mm/min") == Fraction("304.8")
    True
    """
    return _converted(_stated(value, name="value"), from_unit, to_unit)


def same(value_a: str | int | Decimal, unit_a: str, value_b: str | int | Decimal, unit_b: str) -> bool:
    """Tell whether two stated quantities are equal, exactly.

    Parameters
    ----------
    value_a, value_b : str, int or Decimal
        Numbers as they were stated.
    unit_a, unit_b : str
        Units of one kind.

    Raises
    ------
    ValueError
        As ``exact``.

    Examples
    --------
    >>> same("12", "in/min", "304.8", "mm/min")
    True
    >>> same("12", "in/min", "300", "mm/min")
    False
    """
    return _converted(_stated(value_a, name="value_a"), unit_a, unit_b) == _stated(value_b, name="value_b")


def factor(from_unit: str, to_unit: str) -> float:
    """Return the number that turns values in ``from_unit`` into ``to_unit`` by multiplying, for whole arrays.

    Raises
    ------
    ValueError
        As ``convert``, and for temperatures, whose scales start at different zeros.

    Examples
    --------
    >>> factor("kgf", "N")
    9.80665
    """
    if _unit(from_unit, name="from_unit", beside=to_unit).kind == "temperature":
        raise ValueError(f"from_unit must be a unit with a common zero; got {from_unit!r}. Convert each value.")
    return float(_converted(Fraction(1), from_unit, to_unit))


def strength(force_n: float, width_mm: float, unit: str) -> float:
    """Return the seal strength: force over the specimen's width.

    Parameters
    ----------
    force_n : float
        Force, newton.
    width_mm : float
        Width of the specimen before the test, millimetre, above 0.
    unit : str
        A force per width, such as ``"N/15mm"``.

    Returns
    -------
    float
        Strength in ``unit``.

    Raises
    ------
    ValueError
        If a number is not finite, the width is not above 0, or the unit is not a force per width.

    References
    ----------
    .. [1] ASTM F88/F88M, terminology: seal strength is force per unit width of seal.

    Examples
    --------
    >>> round(strength(4.5, 25.4, "lbf/in"), 5)
    1.01164
    """
    force = Fraction(checked.finite(force_n, name="force_n"))
    width = Fraction(checked.positive(width_mm, name="width_mm"))
    return float(_converted(force / width, "N/mm", unit))


def _converted(number: Fraction, from_unit: str, to_unit: str) -> Fraction:
    source = _unit(from_unit, name="from_unit", beside=to_unit)
    target = _unit(to_unit, name="to_unit", beside=from_unit)
    if source.kind != target.kind:
        raise ValueError(
            f"from_unit and to_unit must measure the same; got {from_unit!r} ({source.kind}) "
            f"and {to_unit!r} ({target.kind})."
        )
    return (number - source.zero) * source.factor / target.factor + target.zero


def _unit(written: str, *, name: str, beside: str = "") -> Unit:
    found, other = _found(written), _found(beside)
    if found:
        return found
    options = [_listed(kind) for kind in ([other.kind] if other else KINDS)]
    raise ValueError(f"{name} must be a unit of {'; or of '.join(options)}; got {written!r}.")


def _found(written: str) -> Unit | None:
    return UNITS.get(SPELLINGS.get(written, written)) if isinstance(written, str) else None


def _listed(kind: str) -> str:
    if kind == "force per width":
        return f"{kind}: {', '.join(FORCES)}, each with / and one of {', '.join(WIDTHS)}"
    return f"{kind}: {', '.join(known(kind))}"


def _stated(value: str | int | Decimal, *, name: str) -> Fraction:
    if isinstance(value, bool) or not isinstance(value, str | int | Decimal):
        raise ValueError(f"{name} must be a decimal number as it was stated; got {value!r}.")
    try:
        number = Decimal(value)
    except InvalidOperation:
        raise ValueError(f"{name} must be a decimal number; got {value!r}.") from None
    if not number.is_finite():
        raise ValueError(f"{name} must be a finite decimal number; got {value!r}.")
    return Fraction(number)
