"""Strength as a function of one numeric setting, with bounds along it."""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import ArrayLike
from scipy import special, stats

from labrecords.stats import checked, tails
from labrecords.stats.checked import Floats
from labrecords.stats.exact import quotient, root
from labrecords.stats.least_squares import Polynomial, polynomial, pure_error

DEGREES = (1, 2)


@dataclass(frozen=True)
class BandPoint:
    """The fitted curve at one x.

    Attributes
    ----------
    x, fitted : float
        Setting, and mean strength by the curve.
    mean_low, mean_high : float
        Two-sided confidence limits of the mean.
    tolerance_low, tolerance_high : float
        One-sided tolerance bounds, each by itself: the stated share of strengths lies above the one, the
        stated share below the other.
    """

    x: float
    fitted: float
    mean_low: float
    mean_high: float
    tolerance_low: float
    tolerance_high: float


@dataclass(frozen=True)
class LackOfFit:
    """Whether the means at each x scatter about the curve more than values at equal x do about their mean.

    Attributes
    ----------
    f_statistic : float
        Mean square of the lack of fit over mean square of the pure error.
    df_lack, df_pure : int
        Degrees of freedom.
    p_value : float
        Of a curve of the right shape.
    """

    f_statistic: float
    df_lack: int
    df_pure: int
    p_value: float


@dataclass(frozen=True)
class SettingCurve:
    """Strength as a polynomial of one numeric setting.

    Attributes
    ----------
    coefficients, standard_errors : tuple of float
        From the constant up.
    residual_sd : float
        In the unit of the strength.
    df : int
        Degrees of freedom of residual_sd.
    r_squared : float
        Share of the strengths' sum of squares that the curve explains.
    lack_of_fit : LackOfFit or None
        None where no x is replicated, the replicates do not differ, or the curve runs through every mean.
    band : tuple of BandPoint
        At the points asked for.
    degree : int
        1 or 2.
    coverage, confidence : float
        What the bounds claim; the limits of the mean have the same confidence.
    """

    coefficients: tuple[float, ...]
    standard_errors: tuple[float, ...]
    residual_sd: float
    df: int
    r_squared: float
    lack_of_fit: LackOfFit | None
    band: tuple[BandPoint, ...]
    degree: int
    coverage: float
    confidence: float


def strength_against_setting(
    x: ArrayLike,
    y: ArrayLike,
    *,
    coverage: float,
    confidence: float,
    degree: int = 1,
    at: ArrayLike | None = None,
) -> SettingCurve:
    """Fit strength as a straight line or a parabola of one setting, with bounds along it.

    Parameters
    ----------
    x : array_like, one-dimensional
        The setting, such as temperature; at least degree + 1 different values.
    y : array_like, as long as x, at least degree + 2 values, not all equal
        Independent strengths in one unit.
    coverage, confidence : float
        Of the tolerance bounds, between 0 and 1; the confidence is that of the mean's limits too.
    degree : int
        1 for a straight line, 2 for a parabola.
    at : array_like, optional
        Where to state the band, within the range of x; every different x if left out.

    Returns
    -------
    SettingCurve

    Raises
    ------
    ValueError
        If x and y differ in length or are too short, a value is not a finite number, x has too few different
        values, all y are equal, the degree is neither 1 nor 2, a point lies outside the range of x, or
        coverage or confidence is outside (0, 1).

    Notes
    -----
    For independent, normal strengths of equal spread about a curve of this shape: look at the lack of fit
    before the band, and at the spread along x. Never extrapolates, as strength falls off a cliff at some
    setting that no fit foresees. Limits and bounds hold at each point by itself, not along the whole curve.
    The fit is computed without rounding.

    References
    ----------
    .. [1] Draper and Smith (1998), Applied Regression Analysis, 3rd ed., chapters 1 to 3 (lack of fit, limits
       of the mean), from memory.
    .. [2] Hahn, Meeker, Escobar (2017), Statistical Intervals, 2nd ed., section 4.6.3, from memory: the bound
       with 1 / leverage in place of n, and the residual degrees of freedom.

    Examples
    --------
    >>> found = strength_against_setting(
    ...     [120, 120, 130, 130, 140, 140], [1.10, 1.16, 1.31, 1.27, 1.44, 1.52],
    ...     coverage=0.9, confidence=0.95, at=[130],
    ... )
    >>> [round(part, 4) for part in found.coefficients], round(found.residual_sd, 4), found.df
    ([-0.975, 0.0175], 0.0391, 4)
    """
    across, up = checked.spread(x, name="x"), checked.spread(y, name="y")
    checked.same_length(across, up, names=("x", "y"))
    degree = _degree(degree, across)
    points = _points(at, across)
    claim = checked.fraction(coverage, name="coverage"), checked.fraction(confidence, name="confidence")
    try:
        return _curve(across, up, degree, points, *claim)
    except OverflowError:
        raise ValueError("x must not lie so close together beside y that the slopes exceed 1e308.") from None


def _degree(degree: int, x: Floats) -> int:
    degree = checked.count(degree, name="degree")
    if degree not in DEGREES:
        raise ValueError(f"degree must be 1 or 2; got {degree}.")
    if (distinct := np.unique(x).size) <= degree:
        raise ValueError(f"x must hold at least {degree + 1} different numbers for degree {degree}; got {distinct}.")
    if x.size < degree + 2:
        raise ValueError(f"x and y must hold at least {degree + 2} numbers for degree {degree}; got {x.size}.")
    return degree


def _points(at: ArrayLike | None, x: Floats) -> Floats:
    if at is None:
        return np.unique(x)
    points = checked.array(at, name="at")
    outside = points[(points < x.min()) | (points > x.max())]
    if outside.size:
        raise ValueError(
            f"at must lie within the range of x, {float(x.min())!r} to {float(x.max())!r}; got {float(outside[0])!r}."
        )
    return points


def _curve(x: Floats, y: Floats, degree: int, points: Floats, coverage: float, confidence: float) -> SettingCurve:
    fit = polynomial(x, y, degree=degree)
    sd = root(fit.squares / fit.df)
    return SettingCurve(
        coefficients=tuple(float(part) for part in fit.coefficients),
        standard_errors=tuple(root(fit.squares / fit.df * fit.inverse[place][place]) for place in range(degree + 1)),
        residual_sd=sd,
        df=fit.df,
        r_squared=float((fit.total - fit.squares) / fit.total),
        lack_of_fit=_lack_of_fit(fit, x, y),
        band=tuple(_band_point(fit, float(place), sd, coverage, confidence) for place in points),
        degree=degree,
        coverage=coverage,
        confidence=confidence,
    )


def _lack_of_fit(fit: Polynomial, x: Floats, y: Floats) -> LackOfFit | None:
    pure = pure_error(x, y)
    df = fit.df - pure.df
    if df == 0 or pure.squares == 0:
        return None
    ratio = quotient((fit.squares - pure.squares) / df, pure.squares / pure.df)
    return LackOfFit(f_statistic=ratio, df_lack=df, df_pure=pure.df, p_value=tails.f_upper(ratio, (df, pure.df)))


def _band_point(fit: Polynomial, x: float, sd: float, coverage: float, confidence: float) -> BandPoint:
    fitted, leverage = float(fit.at(x)), fit.leverage(x)
    mean = tails.t_quantile((1 - confidence) / 2, fit.df) * sd * root(leverage)
    single = _tolerance_factor(leverage, fit.df, coverage, confidence) * sd
    return BandPoint(
        x=x,
        fitted=fitted,
        mean_low=fitted - mean,
        mean_high=fitted + mean,
        tolerance_low=fitted - single,
        tolerance_high=fitted + single,
    )


def _tolerance_factor(leverage: Fraction, df: int, coverage: float, confidence: float) -> float:
    """As of tolerance.one_sided_factor, for a fitted value that is as sure as a mean of 1 / leverage values."""
    share = root(leverage)
    factor = float(stats.nct.ppf(confidence, df, special.ndtri(coverage) / share)) * share
    if not np.isfinite(factor):
        raise ValueError(
            f"coverage and confidence must lie further inside 0 and 1; got {coverage!r} and {confidence!r}."
        )
    return factor
