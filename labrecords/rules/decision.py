"""Decision rules: how values are held against a limit. The rule is chosen before the first result."""

from collections.abc import Iterable
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

EVERY_VALUE, TOLERANCE_BOUND, GUARDED = "every value", "tolerance bound", "guarded by uncertainty"

RULES: dict[str, str] = {
    EVERY_VALUE: (
        "A value meets a limit if, as recorded and unrounded, it lies on the limit or on its good side. Measurement "
        "uncertainty was not subtracted: if a true value lay exactly on the limit, the chance of a wrong verdict "
        "would be up to one half. A seal that opened before the test, or was too weak to measure, does not meet a "
        "lower limit above what could be measured."
    ),
    TOLERANCE_BOUND: (
        "A group meets a lower limit if its lower tolerance bound lies on the limit or above it, and an upper limit if "
        "its upper tolerance bound lies on the limit or below it, both at the coverage and confidence of the plan. The "
        "risk that a group in which fewer than the stated share of seals meet the limit is accepted is at most one "
        "minus the confidence, for each limit, if the packs are drawn at random from their lot and the model named "
        "beside the bound holds. Measurement uncertainty was not subtracted; what scatter it adds is in the values. "
        "Every value beyond a limit is counted all the same."
    ),
    GUARDED: (
        "A value meets a limit if, as recorded and unrounded, it lies on the limit's good side by the expanded "
        "measurement uncertainty or more: the acceptance limit is the limit moved by that uncertainty, as a share of "
        "it. If the budget holds, and the error is near normal, a value whose true strength lies on the bad side of "
        "the limit is accepted with a chance of at most one half of one minus the budget's coverage, about 2.3 % "
        "where that is 95.45 %. The price is that a good value within the guard band is not accepted. Every value "
        "beyond the limit itself is counted all the same."
    ),
}


def meets(value: Decimal, *, side: str, limit: Decimal) -> bool:
    """Whether one value lies on the limit or on its good side, compared as exact decimals.

    >>> meets(Decimal("1.00"), side="lower", limit=Decimal("1"))
    True
    """
    return {"lower": value >= limit, "upper": value <= limit}[side]


def acceptance_limit(limit: Decimal, *, side: str, share: float) -> Decimal:
    """The limit that a guarded rule accepts by: moved to the good side by a share of itself, rounded to the safe side.

    Source: ISO/IEC Guide 98-4 (JCGM 106:2012), 8.3.2, guarded acceptance with a guard band of the expanded
    uncertainty, from memory.

    >>> acceptance_limit(Decimal("1.50"), side="lower", share=0.08)
    Decimal('1.620000000')
    """
    moved = limit * (1 + Decimal(repr(share)) * (1 if side == "lower" else -1))
    return moved.quantize(Decimal("0.000000001"), rounding=ROUND_CEILING if side == "lower" else ROUND_FLOOR)


def count_outside(values: Iterable[Decimal], *, side: str, limit: Decimal) -> int:
    """How many values lie on the bad side of a limit."""
    return sum(not meets(value, side=side, limit=limit) for value in values)
