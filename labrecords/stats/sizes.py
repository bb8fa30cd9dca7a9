"""Numbers of specimens as results, and the search for the smallest. ``sample_size`` checks the arguments."""

import bisect
from collections.abc import Callable
from dataclasses import dataclass

from labrecords.stats import checked

ROOM = 1e-12  # a claim that is met exactly counts as met, however its decimals round


@dataclass(frozen=True)
class SampleSize:
    """A number of specimens; it serves wherever Python wants a whole number.

    Attributes
    ----------
    n : int
        Specimens in all, or in each group where there are two.
    """

    n: int

    def __int__(self) -> int:
        return self.n

    def __index__(self) -> int:
        return self.n


@dataclass(frozen=True)
class SizeForConfidence(SampleSize):
    """A number of specimens and the confidence it gives.

    Attributes
    ----------
    confidence_achieved : float
        With ``n`` specimens; at least what was asked for.
    """

    confidence_achieved: float


@dataclass(frozen=True)
class SizeForFactor(SampleSize):
    """A number of specimens and the factor of its tolerance bound.

    Attributes
    ----------
    factor_achieved : float
        One-sided tolerance factor of ``n`` specimens; at most what was asked for.
    """

    factor_achieved: float


@dataclass(frozen=True)
class SizeForPower(SampleSize):
    """A number of specimens in each group and the power of the test.

    Attributes
    ----------
    power_achieved : float
        With ``n`` in each group; at least what was asked for.
    """

    power_achieved: float


@dataclass(frozen=True)
class SizeForMean(SampleSize):
    """A number of specimens and the half-width of the mean's interval.

    Attributes
    ----------
    half_width_achieved : float
        In the unit of the standard deviation; at most what was asked for.
    """

    half_width_achieved: float


def fewest(enough: Callable[[int], bool], *, at_least: int, lacking: str) -> int:
    """Return the smallest n that is enough, where every larger one is enough, too.

    Raises
    ------
    ValueError
        If 1,000,000,000 are not enough; ``lacking`` says what would help.

    Examples
    --------
    >>> fewest(lambda n: n * n >= 50, at_least=2, lacking="")
    8
    """
    last = at_least
    while not enough(last):
        if last >= checked.MOST:
            raise ValueError(f"{lacking}; got what needs more than {checked.MOST} specimens.")
        last = min(2 * last, checked.MOST)
    sizes = range(at_least, last + 1)
    return sizes[bisect.bisect_left(sizes, True, key=enough)]


def fewest_for_power(achieved: Callable[[int], float], power: float, *, lacking: str) -> SizeForPower:
    """Return the smallest n in each group, at least 2, at which a power that rises with n reaches ``power``.

    Examples
    --------
    >>> fewest_for_power(lambda n: 1 - 1 / n, 0.9, lacking="")
    SizeForPower(n=10, power_achieved=0.9)
    """
    n = fewest(lambda n: achieved(n) >= power * (1 - ROOM), at_least=2, lacking=lacking)
    return SizeForPower(n, achieved(n))
