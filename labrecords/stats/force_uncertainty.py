"""The relative uncertainty of a force that a load cell of known calibration, noise and resolution reads."""

from labrecords.stats import checked
from labrecords.stats.uncertainty import Contribution, combine


def relative_uncertainty(
    force_n: float,
    *,
    expanded_percent: float | None,
    coverage_factor: float = 2.0,
    noise_n: float | None,
    resolution_n: float | None,
    coverage: float = 0.9545,
) -> float:
    """Return the expanded relative uncertainty of one reading of a force, as a share of it.

    Parameters
    ----------
    force_n : float
        Force that is read, in newtons, above 0.
    expanded_percent : float, optional
        Expanded uncertainty of the calibration, per cent of reading, 0 or more.
    coverage_factor : float
        The factor it was expanded by, above 0.
    noise_n : float, optional
        Standard deviation of the idle reading, in newtons, 0 or more.
    resolution_n : float, optional
        Smallest step of the indicator, in newtons, 0 or more; half of it lies to either side.
    coverage : float
        Coverage probability of what is returned, between 0 and 1.

    Raises
    ------
    ValueError
        If a number is out of range, or nothing is known of the cell.

    Notes
    -----
    Of the equipment alone: how the strip is cut, held and pulled comes on top and is usually more. What is not known
    is left out, so that the true uncertainty is larger than one computed from less.

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), 4.3.7 and F.2.2.1 (resolution), 5.1.2 (combining), from memory.

    Examples
    --------
    >>> round(relative_uncertainty(5.0, expanded_percent=0.25, noise_n=0.015, resolution_n=0.001), 5)
    0.0065
    """
    force_n = checked.positive(force_n, name="force_n")
    parts = []
    if expanded_percent:
        half = checked.positive(expanded_percent, name="expanded_percent") * force_n / 100
        divisor = checked.positive(coverage_factor, name="coverage_factor")
        parts.append(Contribution("calibration", "normal", half_width=half, divisor=divisor))
    if noise_n:
        parts.append(Contribution("noise", "normal", u=checked.positive(noise_n, name="noise_n")))
    if resolution_n:
        half = checked.positive(resolution_n, name="resolution_n") / 2
        parts.append(Contribution("resolution", "rectangular", half_width=half))
    if not parts:
        raise ValueError("expanded_percent, noise_n or resolution_n must be known and above 0; got none of them.")
    return combine(parts, coverage=coverage).expanded / force_n
