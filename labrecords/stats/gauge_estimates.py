"""From mean squares, or a likelihood fit, to the components of a gauge study and their intervals."""

import math
from dataclasses import dataclass

from labrecords.stats import checked
from labrecords.stats.gauge_table import Sums
from labrecords.stats.interval import Interval
from labrecords.stats.meansquares import Term, linear_interval, satterthwaite_interval
from labrecords.stats.reml import Fit

STUDY_SDS = 6  # standard deviations that are held against a tolerance
CATEGORIES = 1.41  # square root of 2, as the manual rounds it
Weights = dict[str, dict[str, float]]  # component: mean square: coefficient
Estimates = tuple[dict[str, float], dict[str, Interval | None]]  # raw variances and their intervals


@dataclass(frozen=True, kw_only=True)
class GaugeComponents:
    """Variance components of a gauge study and what follows from them.

    Attributes
    ----------
    repeatability, operator, part : float
        Variances, in the square of the unit of the values; negative estimates are given as 0.
    interaction : float or None
        Variance of operator by part; None where the model has none (pooled, nested).
    raw : dict
        The same variances as estimated, negative ones too (by REML none is), and their sums "grr" and "total".
    grr, total : float
        Variance of the measuring (repeatability, operator, interaction), and with the part's added: sums of the
        variances at 0 or above.
    grr_sd, part_sd, total_sd : float
        Standard deviations, in the unit of the values.
    percent_study : float
        100 grr_sd / total_sd. (A factor of 6 on both would cancel.)
    percent_tolerance : float or None
        100 times 6 grr_sd over the tolerance; None without tolerance.
    percents_study, percents_contribution : dict
        Each component, "grr" and "part" among them, as percentage of the total standard deviation, and of the
        total variance. The former do not add up to 100.
    distinct_categories : int or None
        1.41 part_sd / grr_sd, rounded down, at least 1; None where grr_sd is 0.
    intervals : dict
        Interval of each variance, "grr" and "total" among them; None where none can be given.
    confidence : float
        Of each interval.
    method : str
        ``"anova"`` or ``"reml"``.
    """

    repeatability: float
    operator: float
    interaction: float | None
    part: float
    raw: dict[str, float]
    grr: float
    total: float
    grr_sd: float
    part_sd: float
    total_sd: float
    percent_study: float
    percent_tolerance: float | None
    percents_study: dict[str, float]
    percents_contribution: dict[str, float]
    distinct_categories: int | None
    intervals: dict[str, Interval | None]
    confidence: float
    method: str


@dataclass(frozen=True)
class Claim:
    """What a study is asked: tolerance width (None without), and confidence of its intervals."""

    tolerance: float | None
    confidence: float

    def __post_init__(self) -> None:
        if self.tolerance is not None:
            checked.positive(self.tolerance, name="tolerance")
        checked.fraction(self.confidence, name="confidence")


def crossed_weights(count: float, *, parts: int, operators: int) -> Weights:
    """Return the estimates of a balanced crossed study as weights of its mean squares."""
    return {
        "repeatability": {"repeatability": 1.0},
        "operator": _difference("operator", "interaction", count * parts),
        "interaction": _difference("interaction", "repeatability", count),
        "part": _difference("part", "interaction", count * operators),
    }


def pooled_weights(count: float, *, parts: int, operators: int) -> Weights:
    """Return the estimates of a balanced crossed study without interaction."""
    return {
        "repeatability": {"repeatability": 1.0},
        "operator": _difference("operator", "repeatability", count * parts),
        "part": _difference("part", "repeatability", count * operators),
    }


def nested_weights(count: float, *, parts: float) -> Weights:
    """Return the estimates of a balanced nested study with ``parts`` an operator."""
    return {
        "repeatability": {"repeatability": 1.0},
        "operator": _difference("operator", "part", count * parts),
        "part": _difference("part", "repeatability", count),
    }


def from_mean_squares(sums: Sums, weights: Weights, *, confidence: float) -> Estimates:
    """Return raw variances and their intervals from independent mean squares."""
    whole = weights | {"grr": _summed(weights, leaving="part"), "total": _summed(weights)}
    terms = {name: [_term(weight, *sums[source]) for source, weight in parts.items()] for name, parts in whole.items()}
    raw = {name: sum(term.value for term in found) for name, found in terms.items()}
    return raw, {name: linear_interval(found, confidence=confidence) for name, found in terms.items()}


def from_fit(fit: Fit, names: dict[str, str], *, confidence: float) -> Estimates:
    """Return variances and Satterthwaite's intervals from a REML fit, its terms renamed by ``names``."""
    raw = {"repeatability": fit.residual} | {names[term]: found for term, found in fit.variances.items()}
    called = {"residual": "repeatability"} | names
    spread = {(called[a], called[b]): found for (a, b), found in fit.covariance.items()}
    members = {name: {name} for name in raw} | {"grr": set(raw) - {"part"}, "total": set(raw)}
    raw |= {name: sum(raw[part] for part in members[name]) for name in ("grr", "total")}
    df = {name: _degrees(raw[name] / fit.unit, spread, members[name]) for name in members}
    return raw, {name: satterthwaite_interval(raw[name], df[name], confidence=confidence) for name in members}


def components(estimates: Estimates, claim: Claim, *, method: str) -> GaugeComponents:
    """Return all that follows from raw variances."""
    raw, intervals = estimates
    found = {name: max(value, 0.0) for name, value in raw.items() if name not in ("grr", "total")}
    grr = sum(value for name, value in found.items() if name != "part")
    total = grr + found["part"]
    shares = found | {"grr": grr}
    return GaugeComponents(
        repeatability=found["repeatability"],
        operator=found["operator"],
        interaction=found.get("interaction"),
        part=found["part"],
        raw=raw,
        grr=grr,
        total=total,
        grr_sd=math.sqrt(grr),
        part_sd=math.sqrt(found["part"]),
        total_sd=math.sqrt(total),
        percent_study=100 * math.sqrt(grr / total),
        percent_tolerance=None if claim.tolerance is None else 100 * STUDY_SDS * math.sqrt(grr) / claim.tolerance,
        percents_study={name: 100 * math.sqrt(share / total) for name, share in shares.items()},
        percents_contribution={name: 100 * share / total for name, share in shares.items()},
        distinct_categories=_categories(found["part"], grr),
        intervals=intervals,
        confidence=float(claim.confidence),
        method=method,
    )


def _term(weight: float, ss: float, df: int) -> Term:
    return Term(weight * ss / df if df else 0.0, df)


def _difference(first: str, second: str, size: float) -> dict[str, float]:
    return {first: 1 / size, second: -1 / size}


def _degrees(estimate: float, spread: dict[tuple[str, str], float], members: set[str]) -> float:
    """Satterthwaite's degrees of freedom of a sum of components; 0 where it has no variance."""
    variance = sum(found for (a, b), found in spread.items() if a in members and b in members)
    return 2 * estimate**2 / variance if variance > 0 else 0.0


def _summed(weights: Weights, *, leaving: str = "") -> dict[str, float]:
    """Weights of the mean squares in a sum of components."""
    summed: dict[str, float] = {}
    for name, parts in weights.items():
        for source, weight in parts.items() if name != leaving else ():
            summed[source] = summed.get(source, 0.0) + weight
    return summed


def _categories(part: float, grr: float) -> int | None:
    return max(int(CATEGORIES * math.sqrt(part) / math.sqrt(grr)), 1) if grr > 0 else None
