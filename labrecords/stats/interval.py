"""A pair of limits."""

from typing import NamedTuple


class Interval(NamedTuple):
    """Lower and upper limit, in the unit of the quantity they belong to."""

    low: float
    high: float
