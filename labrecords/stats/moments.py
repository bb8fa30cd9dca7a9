"""Mean and standard deviation, computed in one place for every function that needs them."""

from dataclasses import dataclass

import numpy as np

from labrecords.stats.checked import Floats


@dataclass(frozen=True)
class Moments:
    """Number of values, their mean, and their standard deviation (n - 1 degrees of freedom)."""

    n: int
    mean: float
    sd: float


def moments(values: Floats) -> Moments:
    """Return mean and standard deviation of a checked array of at least 2 floats.

    Two passes, each corrected by its residual [1]_: a spread that is tiny beside the mean keeps its digits,
    and equal values have none.

    References
    ----------
    .. [1] Chan, Golub, LeVeque (1983), Algorithms for computing the sample variance, The American
       Statistician 37(3), equation 1.7, from memory.

    Examples
    --------
    >>> import numpy as np
    >>> moments(np.array([10000000.2, 10000000.1, 10000000.3]))
    Moments(n=3, mean=10000000.2, sd=0.10000000055879354)
    """
    rough = values.mean()
    deviation = values - rough
    residual = deviation.mean()
    squares = (deviation * deviation).sum() - values.size * residual**2
    return Moments(
        n=values.size, mean=float(rough + residual), sd=float(np.sqrt(max(squares, 0.0) / (values.size - 1)))
    )
