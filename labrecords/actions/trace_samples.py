"""Keeps a specimen's curve beside its result."""

from datetime import datetime
from typing import TYPE_CHECKING

from labrecords.files.packing import pack
from labrecords.models import Result, Trace

from .measured import Measured

if TYPE_CHECKING:
    from .results import TraceChoice


def keep_trace(*, result: Result, measured: Measured, choice: "TraceChoice", at: datetime) -> Trace:
    """The samples packed without loss, the file and segment they came from, and every number of the reduction."""
    segment = measured.samples
    return Trace.objects.create(
        result=result,
        file=choice.file,
        segment=choice.segment,
        layout=choice.layout,
        samples=pack(segment.displacement_mm, segment.force_n, segment.time_s),
        points=len(segment.force_n),
        reduction=measured.reduction,
        measured_rate_mm_min=measured.reduction["measured_rate_mm_min"],
        at=at,
    )
