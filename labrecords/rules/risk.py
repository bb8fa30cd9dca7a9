"""When a value lies so near a limit that a reviewer looks at it first."""

from decimal import Decimal

NEAR = Decimal("0.05")  # of the limit, where no uncertainty is known. common practice, no source


def near(value: Decimal, *, limit: Decimal, share: Decimal | None) -> bool:
    """Whether a value lies within a share of the limit from it, on either side: the expanded uncertainty's, if known.

    >>> near(Decimal("1.04"), limit=Decimal("1.00"), share=None)
    True
    >>> near(Decimal("1.04"), limit=Decimal("1.00"), share=Decimal("0.03"))
    False
    """
    return abs(value - limit) <= limit * (NEAR if share is None else share)
