"""Risks of a false claim, checked."""

from labrecords.stats import checked

LEAST = 1e-100  # scipy 1.17 loses quantiles of the t distribution from about 1e-160 down


def risk(value: float, *, name: str) -> float:
    """Return ``value`` as a float between 0 and 1 that leaves the quantiles computable.

    Raises
    ------
    ValueError
        If it is outside (0, 1) or below 1e-100.

    Examples
    --------
    >>> risk(0.05, name="alpha")
    0.05
    """
    number = checked.fraction(value, name=name)
    if number < LEAST:
        raise ValueError(f"{name} must be {LEAST:g} or more; got {value!r}.")
    return number
