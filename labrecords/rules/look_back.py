"""Whether an error that a calibration found could have changed what was said of a result."""

from collections.abc import Iterable
from decimal import Decimal


def could_change(strength: Decimal, limits: Iterable[tuple[str, Decimal]], *, error_percent: float) -> bool:
    """Whether a value moved by the error, to either side, would lie on the other side of a limit.

    `limits` are pairs of side and value, in the unit of the strength.

    >>> could_change(Decimal("1.02"), [("lower", Decimal("1.00"))], error_percent=-3.1)
    True
    >>> could_change(Decimal("1.40"), [("lower", Decimal("1.00"))], error_percent=-3.1)
    False
    """
    share = Decimal(repr(abs(error_percent))) / 100
    low, high = strength * (1 - share), strength * (1 + share)
    return any(_crosses(side, limit, strength, low, high) for side, limit in limits)


def _crosses(side: str, limit: Decimal, strength: Decimal, low: Decimal, high: Decimal) -> bool:
    if side == "lower":
        return low < limit if strength >= limit else high >= limit
    return high > limit if strength <= limit else low <= limit


def margin_percent(strength: Decimal, limits: Iterable[tuple[str, Decimal]]) -> float | None:
    """How far inside the nearest limit a value lies, in per cent of it; below zero outside. None without a limit.

    >>> margin_percent(Decimal("1.05"), [("lower", Decimal("1.00")), ("upper", Decimal("2"))])
    5.0
    """
    inside = [
        float((strength - limit if side == "lower" else limit - strength) / limit * 100) for side, limit in limits
    ]
    return min(inside, default=None)
