"""Comparisons of groups: two, several, each with a reference, all with all, and equivalence.

One door to the modules that hold them, so that callers need not know how they are divided.

Examples
--------
>>> from labrecords.stats import comparisons
>>> round(comparisons.welch([1.42, 1.51, 1.38], [1.31, 1.36, 1.33]).difference, 4)
0.1033
"""

from labrecords.stats.equivalence import (
    Equivalence,
    RatioEquivalence,
    equivalence,
    equivalence_ratio,
    paired_equivalence,
)
from labrecords.stats.many_groups import Bartlett, BrownForsythe, OneWay, bartlett, brown_forsythe, one_way
from labrecords.stats.pairs import AllPairs, ManyToOne, PairComparison, all_pairs, many_to_one
from labrecords.stats.two_groups import MeanDifference, RankSum, VarianceRatio, rank_sum, variance_ratio, welch

__all__ = [
    "AllPairs",
    "Bartlett",
    "BrownForsythe",
    "Equivalence",
    "ManyToOne",
    "MeanDifference",
    "OneWay",
    "PairComparison",
    "RankSum",
    "RatioEquivalence",
    "VarianceRatio",
    "all_pairs",
    "bartlett",
    "brown_forsythe",
    "equivalence",
    "equivalence_ratio",
    "many_to_one",
    "one_way",
    "paired_equivalence",
    "rank_sum",
    "variance_ratio",
    "welch",
]
