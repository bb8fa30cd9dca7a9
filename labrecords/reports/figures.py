"""The figures of a study, drawn from its numbers: the same on the page and in the report."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from labrecords.charts import overlay, probability, values
from labrecords.charts.figure import Figure
from labrecords.charts.limits import Limit
from labrecords.models import Study
from labrecords.queries.numbers import GroupNumbers, Line
from labrecords.queries.traces import Curve
from labrecords.stats.traces import ReducedTrace

from .printed import lower_words

if TYPE_CHECKING:
    from labrecords.files.reader import Segment

KINDS = {"requirement": "requirement", "process": "process limit", "alert": "alert limit"}
CENSOR_MARKS = ("opened-before-test", "below-verified", "above-verified", "above-capacity")


def value_figure(study: Study, groups: Sequence[GroupNumbers]) -> Figure | None:
    """Individual values by group, with limits and tolerance bounds; None while there is no result."""
    drawn = [_group(study, group) for group in groups if group.tested]
    if not any(group.n for group in groups):
        return None
    return values.individual_values(
        drawn,
        unit=study.setup.unit,
        decimals=study.setup.decimals,
        limits=limits(groups),
        quantity="Maximum seal strength",
        group_word="group",
        figure_id="values",
    )


def limits(groups: Sequence[GroupNumbers]) -> list[Limit]:
    """The study's limits, in the unit of its set-up."""
    verdicts = groups[0].verdicts if groups else ()
    return [Limit(verdict.value, KINDS[verdict.limit.kind], verdict.limit.side) for verdict in verdicts]


def _group(study: Study, group: GroupNumbers) -> values.GroupValues:
    lines = [line for line in group.lines if line.result is not None and not line.waiting]
    return values.GroupValues(
        label=str(group.group),
        values=tuple(_drawn_at(line) for line in lines),
        codes=tuple(line.specimen.label for line in lines),
        modes=tuple("+".join(line.result.modes) for line in lines),
        marks=tuple(_mark(line) for line in lines),
        voids=tuple(not line.counts for line in lines),
        mean=group.summary.mean if group.summary else None,
        bound=_bound(study, group),
    )


def _bound(study: Study, group: GroupNumbers) -> values.Bound | None:
    if group.bound.value is None:
        return None
    share, sure = ((part * 100).normalize() for part in (study.coverage, study.confidence))
    text = f"{sure:f} % confident that at least {share:f} % exceed it"
    return values.Bound(group.bound.value, text, printed=lower_words(group, study.setup.decimals))


def _drawn_at(line: Line):
    result = line.result
    if result.censored:
        return result.censored_at or 0
    return result.strength


def _mark(line: Line) -> str:
    return next((mark for mark in CENSOR_MARKS if mark in line.result.marks), "")


def trace_figure(curves: Sequence[Curve], *, chosen: str = "", group: str = "") -> Figure | None:
    """Traces of one group laid over one another, with the analysed span; None where there is none."""
    if not curves:
        return None
    return overlay.trace_overlay([_curve(curve) for curve in curves], chosen=chosen, subtitle=group)


def beside(groups: Sequence[Sequence[Curve]], names: Sequence[str]) -> list[Figure]:
    """The traces of several groups, a figure each, on the same axes; every group has at least one."""
    lines = [[_curve(curve) for curve in group] for group in groups]
    every = [line for group in lines for line in group]
    force = max(float(max(line.force_n)) for line in every)
    travel = max(float(max(line.displacement_mm)) for line in every)
    return [
        overlay.trace_overlay(
            group, subtitle=name, force_high_n=force, travel_high_mm=travel, figure_id=f"traces-{place}"
        )
        for place, (group, name) in enumerate(zip(lines, names, strict=True), start=1)
    ]


def _curve(curve: Curve) -> overlay.TraceLine:
    reduction = curve.reduction
    return overlay.TraceLine(
        code=curve.label,
        displacement_mm=curve.displacement_mm,
        force_n=curve.force_n,
        analysed_from_mm=reduction["analysed_from_mm"] if curve.averaged else None,
        analysed_to_mm=reduction["analysed_to_mm"] if curve.averaged else None,
        peak_mm=reduction["peak_displacement_mm"],
        peak_n=reduction["peak_force_n"],
        mean_n=reduction["mean_force_n"] if curve.averaged else None,
        voided=curve.void,
        analysed_points=reduction["points"] if curve.averaged else None,
    )


def preview_figure(curves: Sequence[tuple[str, "Segment", ReducedTrace]]) -> Figure | None:
    """The curves of a file, to be looked at before any is kept; None where none can be read."""
    if not curves:
        return None
    lines = [
        overlay.TraceLine(
            code=name,
            displacement_mm=segment.displacement_mm,
            force_n=segment.force_n,
            analysed_from_mm=reduced.analysed_from_mm,
            analysed_to_mm=reduced.analysed_to_mm,
            peak_mm=reduced.peak_displacement_mm,
            peak_n=reduced.peak_force_n,
            mean_n=reduced.mean_force_n,
            analysed_points=reduced.points,
        )
        for name, segment, reduced in curves
    ]
    return overlay.trace_overlay(lines, subtitle="As read from the file; nothing is kept yet")


def probability_figure(study: Study, group: GroupNumbers) -> Figure | None:
    """Normal probability plot of one group; None below three values, or where some could not be measured."""
    known = [line for line in group.lines if line.strength is not None]
    if len(known) < 3 or group.below or group.above or group.summary is None or group.summary.sd == 0:
        return None
    return probability.probability_plot(
        [line.strength for line in known],
        [line.specimen.label for line in known],
        unit=study.setup.unit,
        decimals=study.setup.decimals,
        limits=limits([group]),
        quantity="Maximum seal strength",
        group=str(group.group),
        figure_id=f"probability-{group.group.number}",
    )
