"""Many comparisons of means, with one confidence for all of them together."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations

from numpy.typing import ArrayLike

from labrecords.stats import checked, multiplicity
from labrecords.stats.exact import Exact, exact, pooled, root
from labrecords.stats.interval import Interval
from labrecords.stats.two_groups import Contrast, contrast


@dataclass(frozen=True)
class PairComparison:
    """Difference of two of several means.

    Attributes
    ----------
    first, second : str
        Names of the groups.
    difference : float
        Mean of first less mean of second, in the unit of the values.
    standard_error : float
        Of the difference.
    statistic : float
        ``many_to_one``: t, the difference over its standard error. ``all_pairs``: the studentised range, the
        size of t times the root of 2.
    df : float
        Degrees of freedom.
    p_value : float
        Two-sided, adjusted for all comparisons made.
    interval : Interval
        Of the difference; all intervals hold together with the stated confidence.
    """

    first: str
    second: str
    difference: float
    standard_error: float
    statistic: float
    df: float
    p_value: float
    interval: Interval


@dataclass(frozen=True)
class ManyToOne:
    """Every group against one reference.

    Attributes
    ----------
    reference : str
        Name of the reference.
    comparisons : tuple of PairComparison
        In the order of the groups; ``first`` is the group, ``second`` the reference.
    critical_value : float
        The t that a difference must exceed.
    df : int
        Degrees of freedom of the residual standard deviation.
    residual_sd : float
        Within groups, pooled.
    confidence : float
        Of all intervals together.
    """

    reference: str
    comparisons: tuple[PairComparison, ...]
    critical_value: float
    df: int
    residual_sd: float
    confidence: float


@dataclass(frozen=True)
class AllPairs:
    """Every group against every other.

    Attributes
    ----------
    comparisons : tuple of PairComparison
        In the order of the groups: first with second, first with third, and so on.
    method : str
        ``"Tukey-Kramer"`` or ``"Games-Howell"``.
    confidence : float
        Of all intervals together.
    """

    comparisons: tuple[PairComparison, ...]
    method: str
    confidence: float


def many_to_one(groups: Mapping[str, ArrayLike], *, reference: str, confidence: float = 0.95) -> ManyToOne:
    """Compare every mean with that of one reference group (Dunnett).

    Parameters
    ----------
    groups : mapping of str to array_like
        Two or more groups by name: independent results in one unit, at least 2 values each; not all without
        spread.
    reference : str
        Name of the group that the others are compared with.
    confidence : float
        Of all intervals together, between 0 and 1.

    Returns
    -------
    ManyToOne

    Raises
    ------
    ValueError
        If there are fewer than 2 groups, one has fewer than 2 values, a value is not a finite number, every
        group is without spread, the reference is not among the groups, or the confidence is outside (0, 1).

    Notes
    -----
    Takes the spreads as equal: an unusually wide group widens every interval, and a tight reference among
    wide groups makes all of them wrong. Exact for any numbers of values: errors share the reference's mean
    and the pooled standard deviation, so the distribution is a double integral, computed to 12 digits.

    References
    ----------
    .. [1] Dunnett (1955), A multiple comparison procedure for comparing several treatments with a control,
       Journal of the American Statistical Association 50, from memory.

    Examples
    --------
    >>> found = many_to_one(
    ...     {"low": [1.31, 1.36, 1.33], "nominal": [1.42, 1.51, 1.38], "high": [1.40, 1.44, 1.47]},
    ...     reference="nominal",
    ... )
    >>> [(c.first, round(c.difference, 3), round(c.p_value, 3)) for c in found.comparisons]
    [('low', -0.103, 0.057), ('high', 0.0, 1.0)]
    """
    confidence = checked.fraction(confidence, name="confidence")
    found = named(groups)
    one = found.pop(checked.choice(reference, name="reference", options=found))
    variance, df = pooled([one, *found.values()])
    sizes = [group.n for group in found.values()]
    critical = multiplicity.dunnett_critical(1 - confidence, reference=one.n, others=sizes, df=df)
    comparisons = []
    for name, group in found.items():
        error = root(variance * (group.n + one.n) / (group.n * one.n))
        single = Contrast(difference=group.mean - one.mean, standard_error=error, df=df)
        p_value = multiplicity.dunnett_upper(abs(single.statistic), reference=one.n, others=sizes, df=df)
        comparisons.append(_comparison((name, reference), single, single.statistic, p_value, critical))
    return ManyToOne(
        reference=reference,
        comparisons=tuple(comparisons),
        critical_value=critical,
        df=df,
        residual_sd=root(variance),
        confidence=confidence,
    )


def all_pairs(groups: Mapping[str, ArrayLike], *, confidence: float = 0.95, equal_spread: bool = True) -> AllPairs:
    """Compare every mean with every other (Tukey and Kramer; Games and Howell for unequal spreads).

    Parameters
    ----------
    groups : mapping of str to array_like
        Two or more groups by name: independent results in one unit, at least 2 values each; not all without
        spread, nor, for unequal spreads, any two.
    confidence : float
        Of all intervals together, between 0 and 1.
    equal_spread : bool
        Whether to pool the variances of all groups; if not, each pair is judged by its own two.

    Returns
    -------
    AllPairs

    Raises
    ------
    ValueError
        If there are fewer than 2 groups, one has fewer than 2 values, a value is not a finite number, the
        spreads that would be divided by are 0, or the confidence is outside (0, 1).

    Notes
    -----
    Tukey and Kramer's intervals are exact for equal numbers of values and a little wide otherwise. Games and
    Howell's are approximate; with fewer than about 6 values in a group they can be too narrow.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 7.4.7.1 (Tukey's method).
    .. [2] Kramer (1956), Extension of multiple range tests to group means with unequal numbers of
       replications, Biometrics 12, from memory.
    .. [3] Games and Howell (1976), Pairwise multiple comparison procedures with unequal n's and/or
       variances, Journal of Educational Statistics 1, from memory.

    Examples
    --------
    >>> found = all_pairs({"low": [1.31, 1.36, 1.33], "nominal": [1.42, 1.51, 1.38], "high": [1.40, 1.44, 1.47]})
    >>> [(c.first, c.second, round(c.p_value, 3)) for c in found.comparisons]
    [('low', 'nominal', 0.073), ('low', 'high', 0.073), ('nominal', 'high', 1.0)]
    """
    confidence = checked.fraction(confidence, name="confidence")
    found = named(groups)
    singles = _pooled_contrasts(found) if equal_spread else _separate_contrasts(found)
    critical = {
        df: multiplicity.range_critical(1 - confidence, groups=len(found), df=df) / math.sqrt(2)
        for df in {single.df for single in singles.values()}
    }
    comparisons = []
    for names, single in singles.items():
        size = abs(single.statistic) * math.sqrt(2)
        p_value = multiplicity.range_upper(size, groups=len(found), df=single.df)
        comparisons.append(_comparison(names, single, size, p_value, critical[single.df]))
    return AllPairs(
        comparisons=tuple(comparisons),
        method="Tukey-Kramer" if equal_spread else "Games-Howell",
        confidence=confidence,
    )


def named(groups: Mapping[str, ArrayLike], *, name: str = "groups") -> dict[str, Exact]:
    """Return two or more checked groups by name."""
    if not isinstance(groups, Mapping):
        raise ValueError(f"{name} must be a mapping of names to values; got {type(groups).__name__}.")
    if len(groups) < 2:
        raise ValueError(f"{name} must be at least 2; got {len(groups)}.")
    for key in groups:
        if not isinstance(key, str):
            raise ValueError(f"{name} must be named by text; got {key!r}.")
    return {key: exact(checked.array(values, name=f"{name}[{key!r}]", at_least=2)) for key, values in groups.items()}


def _pooled_contrasts(groups: dict[str, Exact]) -> dict[tuple[str, str], Contrast]:
    variance, df = pooled(list(groups.values()))
    return {
        names: Contrast(
            difference=groups[names[0]].mean - groups[names[1]].mean,
            standard_error=root(
                variance * sum(groups[name].n for name in names) / math.prod(groups[name].n for name in names)
            ),
            df=df,
        )
        for names in combinations(groups, 2)
    }


def _separate_contrasts(groups: dict[str, Exact]) -> dict[tuple[str, str], Contrast]:
    return {
        (first, second): contrast(groups[first], groups[second], equal_spread=False)
        for first, second in combinations(groups, 2)
    }


def _comparison(
    names: tuple[str, str], single: Contrast, statistic: float, p_value: float, critical: float
) -> PairComparison:
    difference, half = float(single.difference), critical * single.standard_error
    return PairComparison(
        first=names[0],
        second=names[1],
        difference=difference,
        standard_error=single.standard_error,
        statistic=statistic,
        df=float(single.df),
        p_value=p_value,
        interval=Interval(difference - half, difference + half),
    )
