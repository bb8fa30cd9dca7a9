"""Force traces as they were acquired, with what was taken from them."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.db.models import Exists, OuterRef

from labrecords.files.packing import unpack
from labrecords.files.reader import Segment
from labrecords.models import DeviationDecision, Equipment, PlanGroup, Setup, Study, Trace, TraceFile, TraceLayout
from labrecords.stats.traces import ReducedTrace, reduce_trace

from . import values


@dataclass(frozen=True)
class Curve:
    """One specimen's trace: travel in mm, force in N, time in s where the file had it."""

    label: str
    displacement_mm: Any
    force_n: Any
    time_s: Any
    reduction: dict
    averaged: bool
    void: bool  # void or set aside: drawn, and not counted


def curves(study: Study, *, group: PlanGroup | None = None, undecided: bool = False) -> Iterator[Curve]:
    """The traces of a study, or of one group of it, by specimen label; read one after the other.

    Those of results that wait for a decision only if `undecided` is said: a curve shows the value.
    """
    found = (
        Trace.objects.filter(result__specimen__study=study)
        .select_related("result__specimen__void")
        .defer("file")
        .order_by("result__specimen__label")
    )
    if group is not None:
        found = found.filter(result__specimen__group=group)
    if not undecided:
        found = found.exclude(Exists(values.undecided().filter(result=OuterRef("result"))))
    decided = DeviationDecision.objects.filter(deviation__result__specimen__study=study, counts=False)
    aside = set(decided.values_list("deviation__result_id", flat=True))
    for trace in found.iterator():
        displacement, force, time = unpack(bytes(trace.samples))
        yield Curve(
            label=trace.result.specimen.label,
            displacement_mm=displacement,
            force_n=force,
            time_s=time,
            reduction=trace.reduction,
            averaged=trace.result.mean_force_n is not None,
            void=hasattr(trace.result.specimen, "void") or trace.result_id in aside,
        )


def reduced_as_locked(setup: Setup, segment: Segment) -> tuple[Segment, ReducedTrace]:
    """A curve of a file put in order, and what the set-up's rule takes from it.

    Raises ValueError where the rule leaves nothing to analyse.
    """
    ordered = segment.in_order()
    return ordered, reduce_trace(
        ordered.displacement_mm,
        ordered.force_n,
        threshold_fraction=setup.threshold_fraction,
        span_fraction=setup.span_fraction,
    )


def remembered_layout(tester: Equipment) -> dict | None:
    """How this tester's files are read, as somebody last confirmed it."""
    kept = TraceLayout.objects.filter(tester=tester).first()
    return kept.layout if kept else None


def kept_of(file: TraceFile):
    """The traces of a file that were kept, with their results and what is to be decided about them."""
    return file.traces.select_related("result__specimen").prefetch_related("result__deviations__decision")


def received_files(study: Study):
    """Files received for a study, newest first, without their bytes."""
    return TraceFile.objects.filter(study=study).defer("content").prefetch_related("traces__result__specimen")


def received_file(study: Study, file_id: str) -> TraceFile | None:
    """One file of a study, by its identifier."""
    return TraceFile.objects.filter(study=study, pk=file_id).first()
