"""What ``capability`` returns."""

from dataclasses import dataclass

from labrecords.stats.interval import Interval


@dataclass(frozen=True)
class OneSidedCapability:
    """Performance against a single limit.

    Attributes
    ----------
    index : float
        Ppl or Ppu: distance of the mean to the safe side of the limit, over three standard deviations of all values.
    index_lower_bound : float
        Exact lower confidence bound of the index.
    fraction_outside : float
        Estimated share of the population beyond the limit: the normal tail at the mean and standard deviation found.
    fraction_outside_upper_bound : float
        Exact upper confidence bound of that share. It is below a share p exactly where the one-sided tolerance bound
        of coverage 1 - p, at the same confidence, keeps to the limit.
    mean, sd : float
        Of all values, in their unit; the standard deviation with n - 1 degrees of freedom.
    n : int
        Number of values.
    limit : float
        In the unit of the values.
    confidence : float
        Of each of the two bounds.
    """

    index: float
    index_lower_bound: float
    fraction_outside: float
    fraction_outside_upper_bound: float
    mean: float
    sd: float
    n: int
    limit: float
    confidence: float


@dataclass(frozen=True)
class CapabilityIntervals:
    """Two-sided confidence intervals of the four indices; None where the index is."""

    pp: Interval
    ppk: Interval
    cp: Interval | None
    cpk: Interval | None


@dataclass(frozen=True)
class TwoSidedCapability:
    """Performance, and capability where subgroups are given, between two limits.

    Attributes
    ----------
    pp, ppk : float
        By the standard deviation of all values (overall).
    cp, cpk : float or None
        By the standard deviation pooled within subgroups; None without subgroups.
    intervals : CapabilityIntervals
        Two-sided; of pp and cp by chi-squared, of ppk and cpk by a normal approximation.
    mean, sd : float
        Of all values, in their unit; the standard deviation with n - 1 degrees of freedom.
    n : int
        Number of values.
    sd_within : float or None
        Pooled within subgroups.
    df_within : int or None
        Its degrees of freedom: values less subgroups.
    low, high : float
        Limits, in the unit of the values.
    confidence : float
        Of each interval.
    """

    pp: float
    ppk: float
    cp: float | None
    cpk: float | None
    intervals: CapabilityIntervals
    mean: float
    sd: float
    n: int
    sd_within: float | None
    df_within: int | None
    low: float
    high: float
    confidence: float
