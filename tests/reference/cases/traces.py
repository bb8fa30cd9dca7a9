"""Reduction of traces: a trace with a closed form, and random traces recomputed in exact fractions."""

import itertools
from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache, partial

import numpy as np

from labrecords.stats import traces
from tests.reference.case import Case

Point = tuple[Fraction, Fraction]

CLOSED = "constructed trace, closed form"
EXACT = "exact fractions, random traces"

TRAVEL = np.arange(201) / 10
FORCE = np.select([TRAVEL < 4, TRAVEL <= 16], [TRAVEL, 4 + 0.5 * np.sin(np.pi * (TRAVEL - 4))], default=20 - TRAVEL)
EXPECTED = {
    "peak_force_n": "4.5",
    "peak_displacement_mm": "4.5",
    "start_mm": "0.9",
    "end_mm": "19.1",
    "analysed_from_mm": "2.72",
    "analysed_to_mm": "17.28",
    "mean_force_n": "3.8874725275",
    "min_force_n": "2.72",
    "max_force_n": "4.5",
    "energy_mj": "64.0",
    "energy_span_mj": "63.19",
    "threshold_n": "0.9",
    "points": "145",  # 2.8, 2.9, ... 17.2 mm
}


def every_case() -> Iterator[Case]:
    """The constructed trace, then five random ones under several rules."""
    for field, printed in EXPECTED.items():
        yield Case("traces.reduce_trace", CLOSED, printed, partial(_of_constructed, field))
    rules = [(0.2, 0.8), (0.05, 1.0), (0.5, 0.1)]
    for seed, (threshold, span) in [(seed, rule) for seed in range(5) for rule in rules]:
        for field, exact in _reduced(seed, threshold, span).items():
            compute = partial(_of_random, seed, threshold, span, field)
            yield Case("traces.reduce_trace", EXACT, float(exact), compute, 12)
    for seed in range(5):
        yield Case("traces.measured_rate", EXACT, float(_rate(seed)), partial(_measured, seed), 12)


def _of_constructed(field: str) -> float:
    return getattr(traces.reduce_trace(TRAVEL, FORCE), field)


@lru_cache
def _random(seed: int) -> tuple[np.ndarray, np.ndarray]:
    """A quiet part, a peel with ripple and readings at equal travel; seeds 3 and 4 stop, or start, above."""
    rng = np.random.default_rng(1000 + seed)
    travel = np.cumsum(rng.choice([0, 0.05, 0.1, 0.125], 300))
    level = np.interp(np.arange(300), [0, 60, 90, 260, 299], [0, 0, 4, 4, 0])
    force = level * (1 + 0.2 * rng.normal(size=300)) + 0.01 * rng.normal(size=300)
    keep = slice(100 if seed == 4 else 0, 200 if seed == 3 else 300)
    return travel[keep], force[keep]


def _of_random(seed: int, threshold: float, span: float, field: str) -> float:
    reduced = traces.reduce_trace(*_random(seed), threshold_fraction=threshold, span_fraction=span)
    return getattr(reduced, field) ** (2 if field == "noise_n" else 1)


def _reduced(seed: int, threshold: float, span: float) -> dict[str, Fraction]:
    """The rule, on the polygon through the readings: from crossing to crossing, then its central part."""
    points = [(Fraction(x), Fraction(y)) for x, y in zip(*_random(seed), strict=True)]
    peak = max(y for _, y in points)
    level = Fraction(threshold) * peak
    above = [i for i, (_, y) in enumerate(points) if y > level]
    peel = points[above[0] : above[-1] + 1]
    before = _crossings(points[max(above[0] - 1, 0) : above[0] + 1], level)
    after = _crossings(points[above[-1] : above[-1] + 2], level)
    polygon = before + peel + after
    start, end = polygon[0][0], polygon[-1][0]
    cut = (1 - Fraction(span)) / 2 * (end - start)
    inner = _clipped(polygon, start + cut, end - cut)
    found = {
        "peak_force_n": peak,
        "start_mm": start,
        "end_mm": end,
        "start_open": Fraction(not before),
        "end_open": Fraction(not after),
        "analysed_from_mm": start + cut,
        "analysed_to_mm": end - cut,
        "mean_force_n": _area(inner) / (end - start - 2 * cut),
        "min_force_n": min(y for _, y in inner),
        "max_force_n": max(y for _, y in inner),
        "energy_mj": _area(points),
        "energy_span_mj": _area(polygon),
        "points": Fraction(sum(start + cut <= x <= end - cut for x, _ in peel)),
    }
    quiet = [y for _, y in points[: above[0] // 2]]
    return found | ({"noise_n": _residual_variance(quiet)} if len(quiet) >= 10 else {})


def _crossings(pair: list[Point], level: Fraction) -> list[Point]:
    if len(pair) < 2:
        return []
    (x0, y0), (x1, y1) = pair
    return [(x0 + (level - y0) / (y1 - y0) * (x1 - x0), level)]


def _clipped(polygon: list[Point], low: Fraction, high: Fraction) -> list[Point]:
    """The polygon from low to high, its ends on the line between readings."""
    ends = []
    for place in (low, high):
        for (x0, y0), (x1, y1) in itertools.pairwise(polygon):
            if x0 < place < x1:
                ends.append((place, y0 + (y1 - y0) * (place - x0) / (x1 - x0)))
    return sorted(ends + [(x, y) for x, y in polygon if low <= x <= high], key=lambda point: point[0])


def _area(points: list[Point]) -> Fraction:
    return sum((x1 - x0) * (y0 + y1) / 2 for (x0, y0), (x1, y1) in itertools.pairwise(points))


def _residual_variance(y: list[Fraction]) -> Fraction:
    x = [Fraction(i) for i in range(len(y))]
    slope = _slope(x, y)
    level = (sum(y) - slope * sum(x)) / len(y)
    return sum((b - level - slope * a) ** 2 for a, b in zip(x, y, strict=True)) / (len(y) - 2)


def _slope(x: list[Fraction], y: list[Fraction]) -> Fraction:
    """By the normal equations."""
    n = len(x)
    products = n * sum(a * b for a, b in zip(x, y, strict=True)) - sum(x) * sum(y)
    return products / (n * sum(a * a for a in x) - sum(x) ** 2)


def _timed(seed: int) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(2000 + seed)
    time = np.cumsum(rng.uniform(0.01, 0.03, 200))
    return 5 * time + rng.normal(0, 0.02, 200), time


def _rate(seed: int) -> Fraction:
    travel, time = ([Fraction(value) for value in column] for column in _timed(seed))
    return 60 * _slope(time, travel)


def _measured(seed: int) -> float:
    return traces.measured_rate(*_timed(seed))
