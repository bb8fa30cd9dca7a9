"""Tables of the analysis of variance, and the distribution of ratios of mean squares."""

from dataclasses import dataclass

from scipy import special


@dataclass(frozen=True)
class AnovaRow:
    """One source of variation in a table of the analysis of variance.

    Attributes
    ----------
    source : str
        Its name.
    ss : float
        Sum of squares, in the square of the unit of the values.
    df : int
        Degrees of freedom.
    ms : float or None
        Mean square; None for the total, and where there are no degrees of freedom.
    F, p : float or None
        Mean square over the mean square it is tested against, and the chance of a larger one; None where no
        exact test exists (residual, total, unbalanced data) or the divisor is 0.
    """

    source: str
    ss: float
    df: int
    ms: float | None
    F: float | None = None
    p: float | None = None


@dataclass(frozen=True, kw_only=True)
class AnovaTable:
    """A table of the analysis of variance, readable by row (`anova`) and by column.

    Attributes
    ----------
    anova : tuple of AnovaRow
        One row a source, the total last.
    """

    anova: tuple[AnovaRow, ...]

    @property
    def ss(self) -> dict[str, float]:
        """Sums of squares by source."""
        return {row.source: row.ss for row in self.anova}

    @property
    def df(self) -> dict[str, int]:
        """Degrees of freedom by source."""
        return {row.source: row.df for row in self.anova}

    @property
    def ms(self) -> dict[str, float | None]:
        """Mean squares by source."""
        return {row.source: row.ms for row in self.anova}

    @property
    def F(self) -> dict[str, float | None]:  # noqa: N802 - the statistic is called F
        """Ratios of mean squares by source."""
        return {row.source: row.F for row in self.anova}

    @property
    def p(self) -> dict[str, float | None]:
        """Chances of a larger F by source."""
        return {row.source: row.p for row in self.anova}


def rows(
    sums: dict[str, tuple[float, int]], *, against: dict[str, str], total: float | None = None
) -> tuple[AnovaRow, ...]:
    """Return the table of ``sums`` (source: sum of squares, df) with its total.

    Parameters
    ----------
    sums : dict
        Sum of squares and degrees of freedom of each source.
    against : dict
        Source: the source whose mean square it is tested against. A source left out is not tested.
    total : float, optional
        Sum of squares of the total, where the sources overlap; their sum if left out.

    Examples
    --------
    >>> table = rows({"lot": (10.0, 2), "residual": (12.0, 6)}, against={"lot": "residual"})
    >>> table[0].F, round(table[0].p, 4), table[2].ss
    (2.5, 0.1623, 22.0)
    """
    found = [_row(source, sums, against.get(source)) for source in sums]
    whole = sum(ss for ss, _ in sums.values()) if total is None else total
    return (*found, AnovaRow("total", whole, sum(df for _, df in sums.values()), None))


def upper_tail(ratio: float, df: int, df_divisor: int) -> float:
    """Return the chance that F exceeds ``ratio``; exact far into the tail, where 1 - p keeps no digits.

    Examples
    --------
    >>> round(upper_tail(4.75, 1, 12), 3)
    0.05
    """
    return float(special.betainc(df_divisor / 2, df / 2, df_divisor / (df_divisor + df * ratio)))


def _row(source: str, sums: dict[str, tuple[float, int]], divisor: str | None) -> AnovaRow:
    ss, df = sums[source]
    if df == 0:
        return AnovaRow(source, ss, df, None)
    ss_divisor, df_divisor = sums[divisor] if divisor else (0.0, 0)
    if ss_divisor == 0 or df_divisor == 0:
        return AnovaRow(source, ss, df, ss / df)
    ratio = (ss / df) / (ss_divisor / df_divisor)
    return AnovaRow(source, ss, df, ss / df, ratio, upper_tail(ratio, df, df_divisor))
