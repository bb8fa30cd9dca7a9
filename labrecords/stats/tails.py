"""Probabilities and quantiles of the t and F distributions, always from the nearer tail, where doubles have digits."""

from scipy import special


def t_upper(statistic: float, df: float) -> float:
    """Return P(T > statistic).

    Examples
    --------
    >>> round(t_upper(2.228, 10), 4)
    0.025
    """
    return float(special.stdtr(df, -statistic))


def t_both(statistic: float, df: float) -> float:
    """Return P(abs(T) > abs(statistic))."""
    if abs(statistic) < 1:  # scipy 1.17's t keeps 8 digits only where df is 1 and the statistic tiny
        return float(special.betaincc(0.5, df / 2, statistic * statistic / (df + statistic * statistic)))
    return 2 * float(special.stdtr(df, -abs(statistic)))


def t_quantile(tail: float, df: float) -> float:
    """Return the t exceeded with probability ``tail``.

    Examples
    --------
    >>> round(t_quantile(0.025, 10), 4)
    2.2281
    """
    return -float(special.stdtrit(df, tail))


def f_upper(ratio: float, df: tuple[float, float]) -> float:
    """Return P(F > ratio).

    Examples
    --------
    >>> round(f_upper(3.326, (5, 10)), 3)
    0.05
    """
    return float(special.fdtrc(*df, ratio))


def f_lower(ratio: float, df: tuple[float, float]) -> float:
    """Return P(F < ratio)."""
    return float(special.fdtr(*df, ratio))


def f_quantile(tail: float, df: tuple[float, float]) -> float:
    """Return the F exceeded with probability ``tail``: the reciprocal of a lower quantile, which keeps its digits."""
    return 1 / float(special.fdtri(df[1], df[0], tail))
