"""A process window: strength at its settings, and strength as a function of one setting."""

from collections.abc import Mapping
from dataclasses import dataclass

from numpy.typing import ArrayLike

from labrecords.stats import checked, comparisons, tolerance
from labrecords.stats.comparisons import BrownForsythe, ManyToOne, OneWay
from labrecords.stats.pairs import named
from labrecords.stats.setting_curve import BandPoint, LackOfFit, SettingCurve, strength_against_setting
from labrecords.stats.summary import Summary, summarise

__all__ = [
    "BandPoint",
    "LackOfFit",
    "ProcessWindow",
    "SettingCurve",
    "SettingResult",
    "process_window",
    "strength_against_setting",
]


@dataclass(frozen=True)
class SettingResult:
    """What one setting of the process gave.

    Attributes
    ----------
    name : str
        Of the setting.
    summary : Summary
        Of its values.
    own_factor, own_bound : float
        Lower one-sided tolerance bound from the setting's own standard deviation, and its factor.
    pooled_factor, pooled_bound : float
        The same from the standard deviation pooled over all settings.
    clears_own, clears_pooled : bool or None
        Whether the bound lies at or above the limit; None where no limit was given.
    """

    name: str
    summary: Summary
    own_factor: float
    own_bound: float
    pooled_factor: float
    pooled_bound: float
    clears_own: bool | None
    clears_pooled: bool | None


@dataclass(frozen=True)
class ProcessWindow:
    """What the settings of a process gave, side by side.

    Attributes
    ----------
    settings : tuple of SettingResult
        In the order given.
    anova : OneWay
        Between and within settings.
    brown_forsythe : BrownForsythe or None
        Whether the spreads are equal; None where too few different values leave it nothing to compare.
    many_to_one : ManyToOne
        Each setting against the reference.
    pooled_sd : float
        Standard deviation within settings, of anova.df_within degrees of freedom.
    clears_own, clears_pooled : bool or None
        Whether every setting clears the limit; None where no limit was given.
    coverage, confidence : float
        What the bounds claim; the intervals have the same confidence.
    limit : float or None
        Least strength allowed.
    """

    settings: tuple[SettingResult, ...]
    anova: OneWay
    brown_forsythe: BrownForsythe | None
    many_to_one: ManyToOne
    pooled_sd: float
    clears_own: bool | None
    clears_pooled: bool | None
    coverage: float
    confidence: float
    limit: float | None


def process_window(
    settings: Mapping[str, ArrayLike],
    *,
    reference: str,
    coverage: float,
    confidence: float,
    limit: float | None = None,
) -> ProcessWindow:
    """Compare the settings of a process, and each one's lower tolerance bound with a limit.

    Parameters
    ----------
    settings : mapping of str to array_like
        Two or more settings by name, such as low, nominal and high: independent strengths in one unit, at
        least 2 each; not all without spread.
    reference : str
        The setting that the others are compared with, usually the nominal one.
    coverage, confidence : float
        Of the tolerance bounds, between 0 and 1; the confidence is that of the intervals too.
    limit : float, optional
        Least strength allowed, in the unit of the values.

    Returns
    -------
    ProcessWindow

    Raises
    ------
    ValueError
        If there are fewer than 2 settings, one has fewer than 2 values, a value or the limit is not a finite
        number, every setting is without spread, the reference is not among the settings, or coverage or
        confidence is outside (0, 1).

    Notes
    -----
    A bound from the pooled standard deviation is tighter, and right only if the settings spread equally: a
    weak setting is often the wide one too, and pooling then hides it. Where Brown and Forsythe's test
    answers, use own bounds. Each bound keeps its confidence by itself, not all of them together.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3 (bounds), 7.4.3 (analysis of variance).
    .. [2] Hahn, Meeker, Escobar (2017), Statistical Intervals, 2nd ed., section 4.6.3 (bounds with any
       estimate of the standard deviation), from memory.

    Examples
    --------
    >>> found = process_window(
    ...     {"low": [1.31, 1.36, 1.33, 1.29], "nominal": [1.42, 1.51, 1.38, 1.46], "high": [1.40, 1.44, 1.47, 1.52]},
    ...     reference="nominal", coverage=0.9, confidence=0.95, limit=1.2,
    ... )
    >>> [(s.name, round(s.own_bound, 3), round(s.pooled_bound, 3)) for s in found.settings]
    [('low', 1.198, 1.2), ('nominal', 1.211, 1.32), ('high', 1.247, 1.335)]
    >>> found.clears_own, found.clears_pooled
    (False, True)
    """
    named(settings, name="settings")
    bar = None if limit is None else checked.finite(limit, name="limit")
    anova = comparisons.one_way(*settings.values())
    results = tuple(
        _setting(name, values, anova, bar, coverage=coverage, confidence=confidence)
        for name, values in settings.items()
    )
    return ProcessWindow(
        settings=results,
        anova=anova,
        brown_forsythe=_equal_spread(settings),
        many_to_one=comparisons.many_to_one(settings, reference=reference, confidence=confidence),
        pooled_sd=anova.residual_sd,
        clears_own=None if bar is None else all(result.clears_own for result in results),
        clears_pooled=None if bar is None else all(result.clears_pooled for result in results),
        coverage=float(coverage),
        confidence=float(confidence),
        limit=bar,
    )


def _setting(
    name: str, values: ArrayLike, anova: OneWay, limit: float | None, *, coverage: float, confidence: float
) -> SettingResult:
    own = tolerance.lower_bound(values, coverage=coverage, confidence=confidence)
    factor = tolerance.one_sided_factor(own.n, coverage=coverage, confidence=confidence, df=anova.df_within)
    pooled_bound = own.mean - factor * anova.residual_sd
    return SettingResult(
        name=name,
        summary=summarise(values, confidence=confidence),
        own_factor=own.factor,
        own_bound=own.bound,
        pooled_factor=factor,
        pooled_bound=pooled_bound,
        clears_own=None if limit is None else own.bound >= limit,
        clears_pooled=None if limit is None else pooled_bound >= limit,
    )


def _equal_spread(settings: Mapping[str, ArrayLike]) -> BrownForsythe | None:
    try:
        return comparisons.brown_forsythe(*settings.values())
    except ValueError:  # the settings are checked already, so it is their deviations that do not differ
        return None
