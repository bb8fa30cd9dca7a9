"""A trace as a small drawing: its line, the analysed span behind it, its peak."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from .thin import thin

WIDTH, HEIGHT, EDGE = 240.0, 96.0, 8.0


@dataclass(frozen=True)
class Thumbnail:
    """Where everything stands in a drawing of WIDTH by HEIGHT, y downwards: numbers written out for an SVG."""

    line: str
    span_from: str
    span_width: str
    peak_x: str
    peak_y: str
    width: str = f"{WIDTH:g}"
    height: str = f"{HEIGHT:g}"


def thumbnail(
    travel_mm: ArrayLike, force_n: ArrayLike, *, span_mm: tuple[float, float], peak: tuple[float, float]
) -> Thumbnail:
    """Draw a trace of at least two readings small, from zero force up; no peak is lost.

    Parameters: `travel_mm`, `force_n`, equally long; `span_mm`, the analysed span; `peak`, as travel and force.

    >>> thumbnail([0, 1, 2], [0, 10, 0], span_mm=(0.5, 1.5), peak=(1, 10)).line
    '8.0,88.0 120.0,8.0 232.0,88.0'
    """
    x, y = thin(travel_mm, force_n, columns=int(WIDTH))
    low, high = float(np.min(x)), float(np.max(x))
    bottom, top = min(0.0, float(np.min(y))), float(np.max(y))

    def across(value: float) -> float:
        return EDGE + (WIDTH - 2 * EDGE) * (value - low) / ((high - low) or 1.0)

    def down(value: float) -> float:
        return HEIGHT - EDGE - (HEIGHT - 2 * EDGE) * (value - bottom) / ((top - bottom) or 1.0)

    begin, end = (across(value) for value in span_mm)
    line = " ".join(f"{across(one):.1f},{down(other):.1f}" for one, other in zip(x, y, strict=True))
    return Thumbnail(line, f"{begin:.1f}", f"{end - begin:.1f}", f"{across(peak[0]):.1f}", f"{down(peak[1]):.1f}")
