"""A look at a trace by another rule than the locked one. Nothing of it is kept, and no number rests on it."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from labrecords.charts import reduction
from labrecords.charts.figure import Figure
from labrecords.queries.traces import Curve
from labrecords.stats.traces import ReducedTrace, reduce_trace


def reduced_otherwise(curve: Curve, *, threshold_fraction: float, span_fraction: float) -> ReducedTrace:
    """The trace reduced by these fractions. Raises ValueError where they leave nothing to analyse."""
    return reduce_trace(
        curve.displacement_mm, curve.force_n, threshold_fraction=threshold_fraction, span_fraction=span_fraction
    )


def look_figure(curve: Curve, tried: ReducedTrace) -> Figure:
    """The locked reduction and the one tried, on one trace."""
    return reduction.two_reductions(
        curve.label,
        curve.displacement_mm,
        curve.force_n,
        locked=_drawn(curve.reduction, averaged=curve.averaged),
        tried=_drawn(asdict(tried), averaged=curve.averaged),
    )


def _drawn(reduced: Mapping[str, Any], *, averaged: bool) -> reduction.Reduction:
    """What the figure says; where the strip did not peel there is no average, whatever the span."""
    return reduction.Reduction(
        threshold_percent=100 * reduced["threshold_fraction"],
        span_percent=100 * reduced["span_fraction"],
        from_mm=reduced["analysed_from_mm"],
        to_mm=reduced["analysed_to_mm"],
        mean_n=reduced["mean_force_n"] if averaged else None,
        largest_n=reduced["max_force_n"],
        peak_n=reduced["peak_force_n"],
        readings=reduced["points"],
    )
