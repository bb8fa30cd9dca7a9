"""Uncertainty budget: standard uncertainties combined by the law of propagation."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy import special

from labrecords.stats import checked
from labrecords.stats.checked import Floats
from labrecords.stats.moments import moments

DIVISORS = {
    "rectangular": math.sqrt(3),
    "triangular": math.sqrt(6),
    "u-shaped": math.sqrt(2),
    "arcsine": math.sqrt(2),
}
DISTRIBUTIONS = ("normal", *DIVISORS, "values")
ROUNDED = 1e-6  # correlations stated with few digits may miss positive semidefinite by less
Pairs = Mapping[tuple[str, str], float]


@dataclass(frozen=True)
class Contribution:
    """One contribution to an uncertainty budget, validated when made.

    Attributes
    ----------
    name : str
        What it is of, unlike the others of the budget.
    distribution : str
        ``"normal"``, ``"rectangular"``, ``"triangular"``, ``"u-shaped"`` (also called ``"arcsine"``), or
        ``"values"`` for repeated readings whose mean is used.
    half_width : float, optional
        Half the width of the interval, 0 or more: of the whole distribution; for the normal, the expanded
        uncertainty that `divisor` belongs to.
    u : float, optional
        The standard uncertainty itself, 0 or more, in place of the half width.
    values : sequence of float, optional
        At least 2 readings, for ``"values"`` only.
    sensitivity : float
        Change of the result with this quantity, of either sign, in the result's unit per this quantity's.
    df : float
        Degrees of freedom of the standard uncertainty, 1 or more; infinite if left out. Of readings it is their
        number less 1 and not given.
    divisor : float, optional
        Coverage factor that the half width of a normal was expanded by, above 0, such as 2 from a certificate.

    Raises
    ------
    ValueError
        If the fields do not fit the distribution, or one is out of range.

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), 4.2.3 (readings), 4.3.3 (normal), 4.3.7 (rectangular), 4.3.9 (triangular), from
       memory.

    Examples
    --------
    >>> round(Contribution("resolution", "rectangular", half_width=0.005).standard, 6)
    0.002887
    >>> Contribution("load cell", "normal", half_width=0.02, divisor=2).standard
    0.01
    """

    name: str
    distribution: str
    half_width: float | None = None
    u: float | None = None
    values: Sequence[float] | None = None
    sensitivity: float = 1.0
    df: float = math.inf
    divisor: float | None = None

    def __post_init__(self) -> None:
        if not isinstance(self.name, str) or not self.name.strip():
            raise ValueError(f"name must be a text that is not empty; got {self.name!r}.")
        checked.choice(self.distribution, name="distribution", options=DISTRIBUTIONS)
        checked.finite(self.sensitivity, name="sensitivity")
        if self.df != math.inf:
            checked.at_least(self.df, 1, name="df")
        self._check_size()
        self._check_divisor()

    @property
    def standard(self) -> float:
        """Standard uncertainty, in the unit of this quantity."""
        if self.values is not None:
            found = moments(np.array(self.values))
            return found.sd / math.sqrt(found.n)
        if self.u is not None:
            return float(self.u)
        return float(self.half_width or 0) / (self.divisor or DIVISORS[self.distribution])

    @property
    def degrees(self) -> float:
        """Degrees of freedom of the standard uncertainty."""
        return float(self.df) if self.values is None else float(len(self.values) - 1)

    def _check_size(self) -> None:
        sizes = {"half_width": self.half_width, "u": self.u, "values": self.values}
        given = [name for name, size in sizes.items() if size is not None]
        allowed = ("values",) if self.distribution == "values" else ("half_width", "u")
        if len(given) != 1 or given[0] not in allowed:
            wanted, came = " or ".join(allowed), " and ".join(given) or "neither"
            raise ValueError(f"{self.name}: {wanted} alone must be given for {self.distribution}; got {came}.")
        if self.values is None:
            checked.at_least(sizes[given[0]], 0, name=given[0])
        else:
            self._check_values(self.values)

    def _check_values(self, given: Sequence[float]) -> None:
        values = checked.array(given, at_least=2)
        if self.df != math.inf:
            raise ValueError(f"df must be left out where values are given; got {self.df!r}.")
        object.__setattr__(self, "values", tuple(values.tolist()))  # the caller may change the list

    def _check_divisor(self) -> None:
        needed = self.distribution == "normal" and self.half_width is not None
        if needed != (self.divisor is not None):
            when = "with" if needed else "only with"
            raise ValueError(f"divisor must be given {when} the half_width of a normal; got {self.divisor!r}.")
        if needed:
            checked.positive(self.divisor, name="divisor")


@dataclass(frozen=True)
class BudgetLine:
    """One line of an uncertainty budget.

    Attributes
    ----------
    name, distribution : str
        As given.
    u : float
        Standard uncertainty, in the unit of the quantity.
    sensitivity, df : float
        As given; of readings df is their number less 1.
    contribution : float
        Size of sensitivity times u, in the unit of the result.
    share : float
        Of the combined variance. The shares add up to 1. With correlations a line's share holds half of each of
        its covariances and may be negative.
    """

    name: str
    distribution: str
    u: float
    sensitivity: float
    df: float
    contribution: float
    share: float


@dataclass(frozen=True)
class Budget:
    """An uncertainty budget.

    Attributes
    ----------
    combined : float
        Combined standard uncertainty, in the unit of the result.
    effective_df : float or None
        Effective degrees of freedom by Welch and Satterthwaite, infinite where all are; None where a contribution
        of finite degrees of freedom is correlated with another, for which the formula does not hold.
    factor, expanded : float
        Coverage factor, Student's t at the effective degrees of freedom (not rounded), and the expanded
        uncertainty factor times combined. Where `effective_df` is None, at the fewest degrees of freedom
        of any contribution, the safe side.
    factor_truncated, expanded_truncated : float
        The same at the degrees of freedom cut to the whole number below, as the GUM advises: a little larger.
    coverage : float
        Coverage probability that the factors belong to.
    contributions : tuple of BudgetLine
        In the order given.
    """

    combined: float
    effective_df: float | None
    factor: float
    expanded: float
    factor_truncated: float
    expanded_truncated: float
    coverage: float
    contributions: tuple[BudgetLine, ...]


def combine(
    contributions: Sequence[Contribution], *, coverage: float = 0.9545, correlations: Pairs | None = None
) -> Budget:
    """Return the combined and expanded uncertainty of ``contributions``.

    Parameters
    ----------
    contributions : sequence of Contribution
        At least one, names all different, sensitivities to one unit.
    coverage : float
        Coverage probability of the expanded uncertainty, between 0 and 1. The default gives a factor of 2 with
        many degrees of freedom.
    correlations : mapping of pairs of names to float, optional
        Correlation coefficient of two quantities, -1 to 1; 0 where left out. The sign of the sensitivities is
        taken into account here, not in the coefficient.

    Returns
    -------
    Budget

    Raises
    ------
    ValueError
        If there is no contribution, two have one name, all are 0 or cancel, one is too large to square, a
        correlation is out of range, of an unknown or the same name, given twice, or all do not go together (the
        matrix is not positive semidefinite), or coverage is out of range.

    Notes
    -----
    First order: holds where the result is nearly linear in each quantity within its uncertainty. The coverage
    holds where the result is near normal; one dominating rectangular contribution makes the interval too wide.
    Contributions that are correlated but of infinite degrees of freedom leave Welch and Satterthwaite's formula
    valid. For quantities read together n times, n - 1 degrees of freedom are exact, and the fewest is taken.

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), 5.1.2 (uncorrelated), 5.2.2 (correlated), G.4.1 and G.4.2 (effective degrees of
       freedom), G.6.4 (procedure), from memory.

    Examples
    --------
    >>> budget = combine([
    ...     Contribution("load cell", "normal", half_width=0.02, divisor=2),
    ...     Contribution("resolution", "rectangular", half_width=0.005),
    ...     Contribution("repeat", "values", values=[1.42, 1.51, 1.38, 1.47, 1.55]),
    ... ])
    >>> round(budget.combined, 4), round(budget.effective_df, 2), round(budget.factor, 3), round(budget.expanded, 3)
    (0.0322, 4.99, 2.65, 0.085)
    """
    coverage = checked.fraction(coverage, name="coverage")
    lines = list(contributions)
    names = _names(lines)
    signed = np.array([line.sensitivity * line.standard for line in lines])
    largest = float(np.abs(signed).max())
    if not checked.SMALLEST < largest < checked.LARGEST:
        raise ValueError(
            f"contributions must have a largest between {checked.SMALLEST:g} and {checked.LARGEST:g}; got {largest!r}."
        )
    scaled = signed / largest  # fourth powers must stay within doubles
    matrix = _matrix(names, correlations or {})
    parts = scaled * (matrix @ scaled)
    variance = float(parts.sum())
    if variance <= ROUNDED**2:
        raise ValueError("contributions must not cancel each other; got a combined uncertainty of 0.")
    df = _effective_df(scaled, np.array([line.degrees for line in lines]), matrix, variance)
    counted = min(line.degrees for line, size in zip(lines, scaled, strict=True) if size) if df is None else df
    combined = largest * math.sqrt(variance)
    factor, truncated = _factor(counted, coverage), _factor(_truncated(counted), coverage)
    return Budget(
        combined=combined,
        effective_df=df,
        factor=factor,
        expanded=factor * combined,
        factor_truncated=truncated,
        expanded_truncated=truncated * combined,
        coverage=coverage,
        contributions=tuple(
            BudgetLine(
                line.name,
                line.distribution,
                line.standard,
                float(line.sensitivity),
                line.degrees,
                size,
                part / variance,
            )
            for line, size, part in zip(lines, np.abs(signed).tolist(), parts.tolist(), strict=True)
        ),
    )


def _names(lines: Sequence[Contribution]) -> list[str]:
    if not lines:
        raise ValueError("contributions must hold at least 1 contribution; got 0.")
    names = [line.name for line in lines]
    twice = [name for name in names if names.count(name) > 1]
    if twice:
        raise ValueError(f"contributions must have different names; got {twice[0]!r} {names.count(twice[0])} times.")
    return names


def _matrix(names: list[str], correlations: Pairs) -> Floats:
    matrix = np.eye(len(names))
    seen: set[frozenset[str]] = set()
    for pair, r in correlations.items():
        first, second = _pair(pair, names)
        if frozenset(pair) in seen:
            raise ValueError(f"correlations must name each pair once; got {pair!r} both ways round.")
        seen.add(frozenset(pair))
        matrix[first, second] = matrix[second, first] = _coefficient(r, pair)
    least = float(np.linalg.eigvalsh(matrix)[0])
    if least < -ROUNDED:
        raise ValueError(f"correlations must form a positive semidefinite matrix; got an eigenvalue of {least:.3g}.")
    return matrix


def _pair(pair: tuple[str, str], names: list[str]) -> tuple[int, int]:
    if not isinstance(pair, tuple) or len(set(pair)) != 2 or len(pair) != 2:
        raise ValueError(f"correlations must be keyed by pairs of different names; got {pair!r}.")
    unknown = [name for name in pair if name not in names]
    if unknown:
        raise ValueError(f"correlations must name contributions; got {unknown[0]!r}.")
    return names.index(pair[0]), names.index(pair[1])


def _coefficient(r: float, pair: tuple[str, str]) -> float:
    number = checked.finite(r, name=f"correlation of {pair[0]} and {pair[1]}")
    if abs(number) > 1:
        raise ValueError(f"correlation of {pair[0]} and {pair[1]} must be between -1 and 1; got {r!r}.")
    return number


def _effective_df(scaled: Floats, degrees: Floats, matrix: Floats, variance: float) -> float | None:
    """Welch and Satterthwaite's formula, GUM equation G.2b."""
    there = scaled != 0
    counted = np.isfinite(degrees) & there
    if (matrix - np.eye(scaled.size))[np.ix_(counted, there)].any():
        return None
    divisor = float(np.sum(scaled[counted] ** 4 / degrees[counted]))
    return variance**2 / divisor if divisor > 0 else math.inf


def _truncated(df: float) -> float:
    return df if math.isinf(df) else float(max(math.floor(df + 1e-9), 1))  # 16 may come as 15.999999999


def _factor(df: float, coverage: float) -> float:
    tail = (1 - coverage) / 2
    return float(-special.ndtri(tail) if math.isinf(df) else -special.stdtrit(df, tail))
